-- SPDX-License-Identifier: GPL-3.0-or-later
local acceptable = shared "acceptable-sample"
local first_action = shared "first-action"

return rule {
  id = "comparison.unsatisfactory",
  title = "Something is done, and written down, about each round that came out badly",
  severity = "practice",
  duty = "accreditor",
  basis = { "accreditors' proficiency testing requirements (from memory)", "common practice, no source" },
  needs = "comparisons",
  params = {
    percent = { 80, unit = "%", meaning = "share of samples that must be acceptable" },
    days = { 30, unit = "days", meaning = "within which an action must be opened" },
  },
  subject = { "record" },
  finding = "each",
  check = function(site)
    local rounds, order, action_for = {}, {}, first_action(site, "comparison")
    for _, row in ipairs(site.records "comparisons") do
      local good = acceptable(site, row)
      if not rounds[row.event] then
        rounds[row.event] = { event = row.event, rows = {}, judged = 0, good = 0 }
        table.insert(order, rounds[row.event])
      end
      local round = rounds[row.event]
      table.insert(round.rows, row)
      if good ~= nil then round.judged = round.judged + 1 end
      if good then round.good = round.good + 1 end
    end
    for _, round in ipairs(order) do
      local first, final = round.rows[1].tested_at, round.rows[#round.rows].tested_at
      local day, last = day_of(final), day_of(final) + site.param "days"
      local enough = round.good * 100 >= site.param "percent" * round.judged
      local action = action_for(finding_number { record = round.event, at = first }, day, last)
      local done_on = enough and day or action and action.opened_on
      if round.judged > 0 and (done_on or site.as_of > last) then
        table.insert(round.rows, action)
        judge { ok = done_on ~= nil, at = first, to = final, judged_on = done_on or last + 1, record = round.event,
          good = round.good, number = round.judged, because = round.rows }
      end
    end
  end,
  says = "Round {record}: {good} of {number} samples were acceptable, and no action was opened in time",
  remedy = "Open an action now: what was wrong, what was done, who sees to it. Name this finding's number in it.",
  examples = {
    { "three of four, and nothing done", to = "2026-11-30",
      comparisons = { {}, {}, {}, { result = "9.9", tested_at = "2026-10-08 09:30" } },
      finds = { { record = "round-1", from = "2026-10-08 09:00", to = "2026-10-08 09:30", events = 1 } },
      judged = 1 },
    { "four of five are exactly 80 %", comparisons = { {}, {}, {}, {}, { result = "9.9" } }, finds = {}, judged = 1,
      met = 1 },
    { "still time on the 30th day", to = "2026-11-07", comparisons = { { result = "9.9" } }, finds = {}, judged = 0 },
    { "no more on the 31st", to = "2026-11-08", comparisons = { { result = "9.9" } },
      finds = { { record = "round-1" } } },
    { "an action on the 30th day", to = "2026-11-30", comparisons = { { result = "9.9" } },
      actions = { { opened_on = "2026-11-07", about = "comparison.acceptance" } }, finds = {}, judged = 1, met = 1 },
    { "an action about something else", to = "2026-11-30", comparisons = { { result = "9.9" } },
      actions = { { about = "controls" } }, finds = { { record = "round-1" } } },
    { "no comparisons log is kept", without = { "comparisons" }, finds = {}, judged = 0 },
  },
}
