-- SPDX-License-Identifier: GPL-3.0-or-later
local event_of_change = shared "event-of-change"

return rule {
  id = "records.withdrawn",
  title = "No entry disappears from a log",
  severity = "practice",
  duty = "practice",
  basis = { "ISO 15189:2022, 8.4 (from memory)", "common practice, no source" },
  subject = { "record" },
  finding = "each",
  check = function(site)
    for _, change in ipairs(site.amendments) do
      local event, day = event_of_change(change)
      if change.withdrawn and not (day and day > site.as_of) then
        local in_period = day and day >= site.from and day <= site.to
        judge { ok = false, at = event.at, day = event.day, judged_on = in_period and day or change.loaded_on,
          record = change.key, loaded_on = change.loaded_on, because = { change }, gone_test = change.test }
      end
    end
  end,
  says = "{record} was no longer in its log at the load of {loaded_on:day}",
  remedy = "Put the row back. If it was wrong, put it back corrected, with a note; a row that should not count is " ..
    "kept and noted, not taken out. The store still has the old one.",
  examples = {
    { "a test that was taken out", changed = { { kind = "tests", key = "tests T9", test = "T9", withdrawn = true,
        at = "2026-10-07 09:12", loaded_on = "2026-10-20" } },
      finds = { { record = "tests T9", from = "2026-10-07 09:12", to = "2026-10-07 09:12", events = 1,
        tests = { "T9" } } }, judged = 1, met = 0 },
    { "a note does not help", changed = { { kind = "lots", key = "lots S1 strip reagent", loaded_on = "2026-10-20",
        withdrawn = true, noted = true } }, finds = { { record = "lots S1 strip reagent", from = "2026-10-20" } } },
    { "taken out on the first day of the month", changed = { { kind = "cleaning", withdrawn = true,
        key = "cleaning 2026-09-07 16:00 A1 daily", at = "2026-09-07 16:00", loaded_on = "2026-10-01" } },
      finds = { { from = "2026-09-07 16:00" } }, judged = 1 },
    { "taken out the day before, of a day before", changed = { { kind = "cleaning", withdrawn = true,
        key = "cleaning 2026-09-07 16:00 A1 daily", at = "2026-09-07 16:00", loaded_on = "2026-09-30" } },
      finds = {}, judged = 0 },
    { "an amended entry: records.amended says so", changed = { { kind = "lots", key = "lots S1 strip reagent",
        loaded_on = "2026-10-20" } }, finds = {}, judged = 0 },
    { "nothing was taken out", tests = { {} }, finds = {}, judged = 0 },
  },
}
