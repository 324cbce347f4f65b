-- SPDX-License-Identifier: GPL-3.0-or-later
local control_groups, one_a_day = shared "control-groups", shared "one-a-day"

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
    for _, group in ipairs(control_groups(site)) do
      local limit = site.param("max_bias_percent", group.method)
      local allowable, assigned = site.setting(group.method, "allowable_error.percent"), group.mean
      limit = limit or allowable and allowable / 2
      if limit and assigned and assigned ~= 0 and #group.results >= math.max(site.param("min", group.method), 1) then
        local bias = (stats.mean(group.results) - assigned) / math.abs(assigned) * 100
        judge { ok = not beyond(math.abs(bias), limit), method = group.method, analyzer = group.analyzer,
          lot = group.lot, level = group.level, bias = string.format("%+.1f", bias), limit = limit,
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
