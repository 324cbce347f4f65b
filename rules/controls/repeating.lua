-- SPDX-License-Identifier: GPL-3.0-or-later
-- For the examples: runs of the low control, one a day from 1 October.
local function one_a_day(results)
  local rows = {}
  for day, result in ipairs(results) do
    rows[day] = { performed_at = string.format("2026-10-%02d 08:00", day), result = result }
  end
  return rows
end

return rule {
  id = "controls.repeating",
  title = "Control results vary as results do that were really measured",
  severity = "practice",
  duty = "practice",
  basis = { "common practice, no source" },
  params = {
    min = { 10, meaning = "fewest control results to judge by" },
    p = { 0.001, meaning = "chance below which so little scatter looks copied" },
  },
  subject = { "method", "analyzer", "lot", "level" },
  finding = "state",
  check = function(site)
    local groups, order = {}, {}
    for run in site.runs { is_test = false, period = true } do
      if run.method and run.number and not run.bound and run.sd and run.sd > 0 then
        local key = table.concat({ run.analyzer, run.method, run.level, run.control_lot }, "\31")
        if not groups[key] then
          groups[key] = { run = site.run(run.place), results = {}, places = {} }
          table.insert(order, groups[key])
        end
        table.insert(groups[key].results, run.number)
        table.insert(groups[key].places, run.place)
      end
    end
    for _, group in ipairs(order) do
      local run, number = group.run, #group.results
      if number >= math.max(site.param("min", run.method), 2) then
        local spread = stats.sd(group.results)
        local chance = stats.chi_square_lower((number - 1) * (spread / run.sd) ^ 2, number - 1)
        judge { ok = not beyond(site.param("p", run.method), chance), method = run.method, analyzer = run.analyzer,
          lot = run.control_lot, level = run.level, number = number, spread = string.format("%.3g", spread),
          sd = run.sd,
          because = group.places }
      end
    end
  end,
  says = "{number} results of the {level} control, lot {lot}, on {analyzer} hardly vary: standard deviation " ..
    "{spread}, where the control sheet gives {sd}",
  remedy = "Compare the log with the analyzer's memory, result by result, and write down what you find. Were the " ..
    "results written from the display, each time?",
  examples = {
    { "always the same",
      controls = one_a_day { "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1" },
      finds = { { method = "strip", analyzer = "A1", lot = "C1", level = "low", events = 1 } }, judged = 1 },
    { "a quarter of the standard deviation up and down is too little (chance 0.00008)",
      controls = one_a_day { "5.0", "5.1", "5.0", "5.1", "5.0", "5.1", "5.0", "5.1", "5.0", "5.1" },
      finds = { { level = "low" } } },
    { "half of it up and down is little, but may be (chance 0.02)",
      controls = one_a_day { "4.9", "5.1", "4.9", "5.1", "4.9", "5.1", "4.9", "5.1", "4.9", "5.1" },
      finds = {}, judged = 1, met = 1 },
    { "nine results are too few",
      controls = one_a_day { "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1" },
      finds = {}, judged = 0 },
    { "no standard deviation to compare with",
      lots = { { lot = "C1", method = "strip", use = "control", level = "low", sd = "", low = "4.5", high = "5.5" } },
      controls = one_a_day { "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1" }, finds = {},
      judged = 0 },
  },
}
