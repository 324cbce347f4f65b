-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "results.follow-up",
  title = "Somebody is told of a result that cannot wait, in time",
  severity = "at-risk",
  duty = "policy",
  basis = { "CLSI GP47 (from memory)", "ISO 15189:2022, 7.4.1.3 (from memory)", "the site's policy" },
  on = "test",
  subject = { "record" },
  facts = { "result_number?", "result_below?", "result_above?", "follow_up_low?", "follow_up_high?",
    "follow_up_minutes?", "at", "notified_at?" },
  finding = "each",
  check = function(number, below, above, low, high, minutes, at, notified)
    local value_low, value_high = number or below, number or above
    local due = low and value_low and value_low <= low or high and value_high and value_high >= high
    if not due then return nil end
    if notified == nil or earlier(notified, at) then return false end -- nobody is told of what is not known yet
    return minutes == nil or notified - at <= minutes * 60
  end,
  says = "{record} gave {result}; someone must be told within {follow_up_minutes} minutes; told at: {notified_at}",
  remedy = "Tell the responsible clinician now. Write down who was told, when, and who read it back. The " ..
    "laboratory director reviews the delay.",
  about = "follow_up of the method file says which results cannot wait and how soon someone must be told.",
  examples = {
    { "nobody told", tests = { { result = "14.2" } }, finds = { { record = "T1", tests = { "T1" } } }, judged = 1 },
    { "a minute late",
      tests = { { performed_at = "2026-10-08 09:00", result = "14.2", notified_at = "2026-10-08 10:01" } },
      finds = { {} } },
    { "in the last minute",
      tests = { { performed_at = "2026-10-08 09:00", result = "14.0", notified_at = "2026-10-08 10:00" } },
      finds = {}, judged = 1, met = 1 },
    { "told before there was a result: a time mistyped",
      tests = { { performed_at = "2026-10-08 09:00", result = "14.2", notified_at = "2026-09-28 09:10" } },
      finds = { {} } },
    { "told in the minute of the result",
      tests = { { performed_at = "2026-10-08 09:00:40", result = "14.2", notified_at = "2026-10-08 09:00" } },
      finds = {}, judged = 1, met = 1 },
    { "on the low limit", settings = { strip = "follow_up: {low: 4.5, high: 14.0, within_minutes: 60}" },
      tests = { { result = "4.5" }, { performed_at = "2026-10-08 10:00", result = "4.6" } },
      finds = { { record = "T1" } }, judged = 1 },
    { "beyond the range, in another unit", tests = { { result = ">130", unit = "mmol/mol" } }, finds = { {} } },
    { "beyond the range counts", tests = { { result = ">14.6" } }, finds = { {} } },
    { "below the limit nobody need be told", tests = { { result = "13.9" } }, finds = {}, judged = 0 },
  },
}
