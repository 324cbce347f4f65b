-- SPDX-License-Identifier: GPL-3.0-or-later
local event_of_change = shared "event-of-change"

return rule {
  id = "records.amended",
  title = "Who changes an entry afterwards says why",
  severity = "practice",
  duty = "practice",
  basis = { "ISO 15189:2022, 7.4.1.8 and 8.4 (from memory)", "common practice, no source" },
  subject = { "record" },
  finding = "each",
  check = function(site)
    local amended, places = nil, {} -- tests by their ids
    for _, change in ipairs(site.amendments) do
      if change.test and not change.withdrawn then
        amended = amended or {}
        amended[change.test] = true
      end
    end
    for _, test, place in site.runs({ is_test = true }, "test", "place") do
      if not amended then break end
      if amended[test] then places[test] = place end
    end
    for _, change in ipairs(site.amendments) do
      local event, day = event_of_change(change)
      if not change.withdrawn and not (day and day > site.as_of) then
        local in_period = day and day >= site.from and day <= site.to
        judge { ok = change.noted, at = event.at, day = event.day, judged_on = in_period and day or change.loaded_on,
          record = change.key, loaded_on = change.loaded_on, because = { change },
          tests = change.test and { places[change.test] } }
      end
    end
  end,
  says = "{record} was changed by the load of {loaded_on:day}, and the new version has no note",
  remedy = "Add a note to the entry: what was changed, why, by whom. If nobody knows, put the old values back. They " ..
    "are kept in the store.",
  examples = {
    { "a result changed, and no note", tests = { { performed_at = "2026-10-07 09:12" } },
      changed = { { kind = "tests", key = "tests T1", test = "T1", at = "2026-10-07 09:12",
          loaded_on = "2026-10-20" } },
      finds = { { record = "tests T1", from = "2026-10-07 09:12", to = "2026-10-07 09:12", events = 1,
        tests = { "T1" } } }, judged = 1, met = 0 },
    { "with a note", changed = { { kind = "cleaning", key = "cleaning 2026-10-07 16:00 A1 daily",
        at = "2026-10-07 16:00", loaded_on = "2026-10-20", noted = true } }, finds = {}, judged = 1, met = 1 },
    { "an old entry changed this month", changed = { { kind = "cleaning", key = "cleaning 2026-09-07 16:00 A1 daily",
        at = "2026-09-07 16:00", loaded_on = "2026-10-31" } },
      finds = { { from = "2026-09-07 16:00" } }, judged = 1 },
    { "an old entry changed in another month",
      changed = { { kind = "cleaning", key = "cleaning 2026-09-07 16:00 A1 daily", at = "2026-09-07 16:00",
        loaded_on = "2026-11-01" } }, finds = {}, judged = 0 },
    { "lots are told by the day of the load",
      changed = { { kind = "lots", key = "lots S1 strip reagent", loaded_on = "2026-10-20" } },
      finds = { { record = "lots S1 strip reagent", from = "2026-10-20", to = "2026-10-20", tests = {} } } },
    { "trainings too", changed = { { kind = "training", key = "training ann strip competency 2026-10-01",
        at = "2026-10-01", loaded_on = "2026-11-02" } }, finds = {}, judged = 0 },
    { "an action by the day it was opened", settings = { site = "day_starts_at: \"06:00\"" },
      changed = { { kind = "actions", key = "actions CA-1", at = "2026-10-01", loaded_on = "2026-11-02" } },
      finds = { { from = "2026-10-01", to = "2026-10-01" } } },
    { "after the day of the audit", to = "2026-10-15",
      changed = { { kind = "cleaning", key = "cleaning 2026-10-16 16:00 A1 daily", at = "2026-10-16 16:00",
        loaded_on = "2026-10-10" } }, finds = {}, judged = 0 },
    { "a withdrawn entry: records.withdrawn says so", changed = { { kind = "lots", key = "lots S1 strip reagent",
        loaded_on = "2026-10-20", withdrawn = true } }, finds = {}, judged = 0 },
  },
}
