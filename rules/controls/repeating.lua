-- SPDX-License-Identifier: GPL-3.0-or-later
local control_groups, one_a_day = shared "control-groups", shared "one-a-day"

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
    for _, group in ipairs(control_groups(site)) do
      local number, sd = #group.results, group.sd
      if sd and sd > 0 and number >= math.max(site.param("min", group.method), 2) then
        local spread = stats.sd(group.results)
        local chance = stats.chi_square_lower((number - 1) * (spread / sd) ^ 2, number - 1)
        judge { ok = not beyond(site.param("p", group.method), chance), method = group.method,
          analyzer = group.analyzer, lot = group.lot, level = group.level, number = number,
          spread = string.format("%.3g", spread), sd = sd, because = group.places }
      end
    end
  end,
  says = "{number} results of the {level} control, lot {lot}, on {analyzer} hardly vary: standard deviation " ..
    "{spread}, where the control sheet gives {sd}",
  remedy = "Compare the log with the analyzer's memory, result by result, and write down what you find. Were the " ..
    "results written from the display, each time?",
  about = "Real results scatter. If they scatter far less than the control sheet's standard deviation (a chance " ..
    "below p by the chi-square distribution), they look copied, or the sheet's value is far too wide.",
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
