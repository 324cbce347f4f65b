-- SPDX-License-Identifier: GPL-3.0-or-later
local is_one_of = shared "is-one-of"

return rule {
  id = "analyzer.function-check",
  title = "The analyzer's function check is done when it is due",
  severity = "breach",
  duty = "insert",
  basis = { "42 CFR 493.15(e)(1), where the package insert asks for it" },
  needs = "maintenance",
  params = {
    methods = { {}, meaning = "methods whose package insert asks for one; none unless a site names them" },
    days = { 1, unit = "days", meaning = "how long a function check lasts: 1 is each testing day" },
  },
  subject = { "analyzer" },
  check = function(site)
    local asked, days = site.param "methods", site.param "days"
    if #asked == 0 then return end
    local checks, done, latest = {}, 0, {}
    for _, row in ipairs(site.records "maintenance") do
      if row.event == "function-check" then table.insert(checks, row) end
    end
    for run in site.runs { is_test = true } do
      while checks[done + 1] and not earlier(run.at, checks[done + 1].done_at) do
        done = done + 1
        latest[checks[done].analyzer] = checks[done]
      end
      if run.method and is_one_of(run.method, asked) then
        local check = latest[run.analyzer]
        local day = check and day_of(check.done_at)
        judge { ok = day ~= nil and run.day - day < days, at = run.at, analyzer = run.analyzer, tests = { run.place },
          checked = check and day, because = { run.place, check } }
      end
    end
  end,
  says = "{events:test} on {analyzer} with its function check overdue (the latest: {checked:day})",
  remedy = "Do the function check now, as the package insert says, and enter it in the maintenance log " ..
    "(function-check). If it does not pass, take the analyzer out of use and call the maker. The " ..
    "laboratory director reviews the results listed.",
  about = "The log shows that the check was done, not what it gave. Asked only of the methods that a site or " ..
    "program names in methods.",
  examples = {
    { "none that day", settings = { site = "policy: {analyzer.function-check: {methods: [strip]}}" },
      maintenance = { { event = "function-check", done_at = "2026-10-07 23:59" } }, tests = { {} },
      finds = { { analyzer = "A1", from = "2026-10-08 09:00", events = 1, tests = { "T1" } } }, judged = 1 },
    { "in the minute of the day's first test",
      settings = { site = "policy: {analyzer.function-check: {methods: [strip]}}" },
      maintenance = { { event = "function-check", done_at = "2026-10-08 09:00" } }, tests = { {} }, finds = {},
      judged = 1, met = 1 },
    { "only after the test", settings = { site = "policy: {analyzer.function-check: {methods: [strip]}}" },
      maintenance = { { event = "function-check", done_at = "2026-10-08 09:01" } }, tests = { {} },
      finds = { { analyzer = "A1" } } },
    { "seven days last to the seventh day",
      settings = { site = "policy: {analyzer.function-check: {methods: [strip], days: 7}}" },
      maintenance = { { event = "function-check", done_at = "2026-10-02 08:00" } },
      tests = { {}, { performed_at = "2026-10-09 09:00" } },
      finds = { { from = "2026-10-09 09:00", tests = { "T2" } } }, judged = 2, met = 1 },
    { "of another analyzer", settings = { site = "policy: {analyzer.function-check: {methods: [strip]}}" },
      maintenance = { { analyzer = "G1", event = "function-check" } }, tests = { {} },
      finds = { { analyzer = "A1" } } },
    { "not asked of other methods", settings = { site = "policy: {analyzer.function-check: {methods: [meter]}}" },
      tests = { {} }, finds = {}, judged = 0 },
    { "not asked where nobody names a method", tests = { {} }, finds = {}, judged = 0 },
  },
}
