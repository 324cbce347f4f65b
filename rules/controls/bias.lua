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
  id = "controls.bias",
  title = "The mean of a control level lies near its assigned value",
  severity = "practice",
  duty = "policy",
  basis = { "CLSI C24 (from memory)", "common practice, no source" },
  params = {
    min = { 10, meaning = "fewest control results to judge by" },
    max_bias_percent = { unit = "%",
      meaning = "largest bias; half the method's allowable percent error if nobody sets it",
      method = "controls.max_bias_percent" },
  },
  subject = { "method", "analyzer", "lot", "level" },
  finding = "state",
  check = function(site)
    local groups, order = {}, {}
    for run in site.runs { is_test = false, period = true } do
      if run.method and run.number and not run.bound and run.mean then
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
      local run, limit = group.run, site.param("max_bias_percent", group.run.method)
      local allowable = site.setting(run.method, "allowable_error.percent")
      limit = limit or allowable and allowable / 2
      if limit and #group.results >= site.param("min", run.method) and run.mean ~= 0 then
        local bias = (stats.mean(group.results) - run.mean) / run.mean * 100
        judge { ok = not beyond(math.abs(bias), limit), method = run.method, analyzer = run.analyzer,
          lot = run.control_lot, level = run.level, bias = string.format("%+.1f", bias), limit = limit,
          number = #group.results, because = group.places }
      end
    end
  end,
  says = "{number} results of the {level} control, lot {lot}, on {analyzer} lie {bias} % off the assigned mean; " ..
    "{limit} % is allowed",
  remedy = "Compare code, lot and control sheet. Clean the analyzer, open a fresh control. Write down what was " ..
    "found. If it goes on, call the maker.",
  examples = {
    { "4.2 % too high, where half of the allowable 8 % counts",
      controls = one_a_day { "5.21", "5.21", "5.21", "5.21", "5.21", "5.21", "5.21", "5.21", "5.21", "5.21" },
      finds = { { method = "strip", analyzer = "A1", lot = "C1", level = "low", events = 1 } }, judged = 1 },
    { "exactly 4 % too low",
      controls = one_a_day { "4.8", "4.8", "4.8", "4.8", "4.8", "4.8", "4.8", "4.8", "4.8", "4.8" },
      finds = {}, judged = 1, met = 1 },
    { "the method's own limit goes before",
      settings = { strip = "controls: {levels: [low, high], max_bias_percent: 1}" },
      controls = one_a_day { "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1", "5.1" },
      finds = { { level = "low" } } },
    { "nine results are too few",
      controls = one_a_day { "6.0", "6.0", "6.0", "6.0", "6.0", "6.0", "6.0", "6.0", "6.0" },
      finds = {}, judged = 0 },
    { "an absolute error only: no limit", settings = { strip = "allowable_error: {absolute: 0.5}" },
      controls = one_a_day { "6.0", "6.0", "6.0", "6.0", "6.0", "6.0", "6.0", "6.0", "6.0", "6.0" }, finds = {},
      judged = 0 },
    { "no assigned mean", lots = { { lot = "C1", method = "strip", use = "control", level = "low", mean = "", sd = "",
        low = "4.5", high = "5.5" } },
      controls = one_a_day { "6.0", "6.0", "6.0", "6.0", "6.0", "6.0", "6.0", "6.0", "6.0", "6.0" }, finds = {},
      judged = 0 },
  },
}
