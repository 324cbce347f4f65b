-- SPDX-License-Identifier: GPL-3.0-or-later
local first_action = shared "first-action"

return rule {
  id = "controls.follow-up",
  title = "Something is done, and written down, about each failed control",
  severity = "practice",
  duty = "accreditor",
  basis = { "CAP: corrective action when control limits are exceeded", "ISO 15189:2022, 7.5 (from memory)" },
  params = { days = { 3, unit = "days", meaning = "within which an action must be opened" } },
  subject = { "analyzer", "record" },
  finding = "each",
  check = function(site)
    local action_for = first_action(site, "controls")
    for run, failed in site.runs({ is_test = false }, "failed") do
      if failed then
        local number = finding_number { at = run.at, analyzer = run.analyzer, record = run.record }
        local last, done_on, done_by = run.day + site.param("days", run.method), nil, run.place
        local function is_here(action) return action.analyzer == nil or action.analyzer == run.analyzer end
        local action = not run.good_later and action_for(number, run.day, last, is_here)
        if run.good_later then done_on = run.day end
        if action then done_on, done_by = action.opened_on, action end
        if done_on or site.as_of > last then
          judge { ok = done_on ~= nil, at = run.at, judged_on = done_on or last + 1, analyzer = run.analyzer,
            record = run.record, key = run.record .. " " .. run.result, result = run.result,
            because = { run.place, done_by } }
        end
      end
    end
  end,
  says = "The control {record} failed ({result}); no good one followed that day, and no action was opened in time",
  remedy = "Open an action now: what was wrong, what was done, who sees to it. Name this finding's number in it.",
  examples = {
    { "nothing was done", controls = { { result = "9.9" } },
      finds = { { analyzer = "A1", record = "2026-10-08 08:00 A1 C1 low", from = "2026-10-08 08:00", tests = {} } },
      judged = 1 },
    { "a good one later that day", controls = { { result = "9.9" }, { performed_at = "2026-10-08 17:00" } },
      finds = {}, judged = 1, met = 1 },
    { "an action on the third day", controls = { { result = "9.9" } },
      actions = { { opened_on = "2026-10-11", about = "controls.bracket" } }, finds = {}, judged = 1, met = 1 },
    { "an action on the fourth day", controls = { { result = "9.9" } },
      actions = { { opened_on = "2026-10-12", about = "controls" } }, finds = { { analyzer = "A1" } } },
    { "an action of the day before", controls = { { result = "9.9" } },
      actions = { { opened_on = "2026-10-07", about = "controls" } }, finds = { { analyzer = "A1" } } },
    { "an action about another analyzer", controls = { { result = "9.9" } },
      actions = { { about = "controls", analyzer = "G1" } }, finds = { { analyzer = "A1" } } },
    { "an action about another theme", controls = { { result = "9.9" } }, actions = { { about = "cleaning" } },
      finds = { { analyzer = "A1" } } },
    { "still time on the third day", to = "2026-10-11", controls = { { result = "9.9" } }, finds = {}, judged = 0 },
    { "no more on the fourth", to = "2026-10-12", controls = { { result = "9.9" } },
      finds = { { analyzer = "A1" } } },
    { "judged in the month in which the time runs out", from = "2026-11-01", to = "2026-11-30",
      controls = { { performed_at = "2026-10-30 08:00", result = "9.9" } },
      finds = { { from = "2026-10-30 08:00" } }, judged = 1 },
    { "a good control asks for nothing", controls = { {} }, finds = {}, judged = 0 },
  },
}
