-- SPDX-License-Identifier: GPL-3.0-or-later
local control_groups, one_a_day = shared "control-groups", shared "one-a-day"

return rule {
  id = "controls.precision",
  title = "Control results of a level scatter no more than the method allows",
  severity = "practice",
  duty = "policy",
  basis = { "CLSI C24 (from memory)", "common practice, no source" },
  params = {
    min = { 10, meaning = "fewest control results to judge by" },
    max_cv_percent = { unit = "%", meaning = "largest coefficient of variation", method = "controls.max_cv_percent" },
  },
  subject = { "method", "analyzer", "lot", "level" },
  finding = "state",
  check = function(site)
    for _, group in ipairs(control_groups(site)) do
      local limit, mean = site.param("max_cv_percent", group.method), stats.mean(group.results)
      if limit and #group.results >= math.max(site.param("min", group.method), 2) and mean ~= 0 then
        local cv = stats.sd(group.results) / math.abs(mean) * 100
        judge { ok = not beyond(cv, limit), method = group.method, analyzer = group.analyzer, lot = group.lot,
          level = group.level, cv = string.format("%.1f", cv), limit = limit, number = #group.results,
          because = group.places }
      end
    end
  end,
  says = "{number} results of the {level} control, lot {lot}, on {analyzer} scatter by {cv} % (CV); {limit} % is " ..
    "allowed",
  remedy = "Watch a control being run: mixing, temperature, drop size. Clean the analyzer. Write down what was " ..
    "found. If it goes on, call the maker.",
  examples = {
    { "a CV of 6 %, where 4 % is allowed",
      controls = one_a_day { "4.7", "5.3", "4.7", "5.3", "4.7", "5.3", "4.7", "5.3", "4.7", "5.3" },
      finds = { { method = "strip", analyzer = "A1", lot = "C1", level = "low", events = 1 } }, judged = 1 },
    { "a CV of exactly 4 %",
      controls = one_a_day { "4.8", "5.2", "4.8", "5.2", "4.8", "5.2", "4.8", "5.2", "4.8", "5.2", "5.0" },
      finds = {}, judged = 1, met = 1 },
    { "nine results are too few",
      controls = one_a_day { "4.5", "5.5", "4.5", "5.5", "4.5", "5.5", "4.5", "5.5", "4.5" },
      finds = {}, judged = 0 },
    { "controls that failed count too",
      controls = one_a_day { "5.0", "5.0", "5.0", "5.0", "5.0", "5.0", "5.0", "5.0", "5.0", "9.9" },
      finds = { { level = "low" } } },
    { "the method sets no limit", settings = { strip = "controls: {levels: [low, high]}" },
      controls = one_a_day { "4.7", "5.3", "4.7", "5.3", "4.7", "5.3", "4.7", "5.3", "4.7", "5.3" }, finds = {},
      judged = 0 },
    { "the site may ask for fewer results", settings = { site = "policy: {controls.precision: {min: 3}}" },
      controls = one_a_day { "4.0", "5.0", "6.0" }, finds = { { lot = "C1" } } },
    { "results of another month do not count", from = "2026-11-01", to = "2026-11-30",
      controls = one_a_day { "4.7", "5.3", "4.7", "5.3", "4.7", "5.3", "4.7", "5.3", "4.7", "5.3" }, finds = {},
      judged = 0 },
  },
}
