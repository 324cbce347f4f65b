-- SPDX-License-Identifier: GPL-3.0-or-later
local is_one_of = shared "is-one-of"

return rule {
  id = "cleaning.between",
  title = "An analyzer that goes from patient to patient is cleaned and disinfected between them",
  severity = "practice",
  duty = "practice",
  basis = { "CDC, infection prevention during blood glucose monitoring: devices used for more than one person",
    "42 CFR 493.15(e)(1), where the package insert asks for it" },
  params = { methods = { {}, meaning = "methods whose analyzers go from patient to patient; none unless a site " ..
    "names them" } },
  subject = { "analyzer" },
  check = function(site)
    local asked = site.param "methods"
    if #asked == 0 then return end
    local cleanings, next_one, before = {}, {}, {} -- by analyzer
    for _, row in ipairs(site.records "cleaning") do
      cleanings[row.analyzer] = cleanings[row.analyzer] or {}
      table.insert(cleanings[row.analyzer], row)
    end
    for run in site.runs { is_test = true } do
      local analyzer = run.analyzer
      local last = before[analyzer]
      if last and last.specimen ~= run.specimen and run.method and is_one_of(run.method, asked) then
        local rows, i = cleanings[analyzer] or {}, next_one[analyzer] or 1
        while rows[i] and earlier(rows[i].cleaned_at, last.at) do i = i + 1 end
        next_one[analyzer] = i
        judge { ok = rows[i] ~= nil and not earlier(run.at, rows[i].cleaned_at), at = run.at, analyzer = analyzer,
          because = { last.place, run.place } }
      end
      before[analyzer] = { specimen = run.specimen, at = run.at, place = run.place }
    end
  end,
  affects = "none",
  says = "{events:test} on {analyzer} with no cleaning written down since the specimen before, first at {from}",
  remedy = "Clean and disinfect the analyzer now, as its maker says, and after each patient from now on; enter each " ..
    "time in the cleaning log. If its maker gives no way to clean it, it is for one patient only. Tell whoever sees " ..
    "to infection control.",
  about = "Any entry of the cleaning log between two tests of different specimens counts. Asked only of the methods " ..
    "that a site or program names in methods.",
  examples = {
    { "no entry between two specimens", settings = { site = "policy: {cleaning.between: {methods: [strip]}}" },
      cleaning = { { cleaned_at = "2026-10-08 08:59" }, { cleaned_at = "2026-10-08 09:31" } },
      tests = { {}, { performed_at = "2026-10-08 09:30" } },
      finds = { { analyzer = "A1", from = "2026-10-08 09:30", events = 1, tests = {} } }, judged = 1 },
    { "an entry between", settings = { site = "policy: {cleaning.between: {methods: [strip]}}" },
      cleaning = { { cleaned_at = "2026-10-08 09:10" } }, tests = { {}, { performed_at = "2026-10-08 09:30" } },
      finds = {}, judged = 1, met = 1 },
    { "an entry in the minute of either test", settings = { site = "policy: {cleaning.between: {methods: [strip]}}" },
      cleaning = { { cleaned_at = "2026-10-08 09:00" }, { cleaned_at = "2026-10-08 10:00" } },
      tests = { {}, { performed_at = "2026-10-08 09:30" }, { performed_at = "2026-10-08 10:00" } }, finds = {},
      judged = 2, met = 2 },
    { "one specimen twice", settings = { site = "policy: {cleaning.between: {methods: [strip]}}" },
      tests = { { specimen = "P7" }, { specimen = "P7", performed_at = "2026-10-08 09:30" } }, finds = {},
      judged = 0 },
    { "each analyzer by itself", settings = { site = "policy: {cleaning.between: {methods: [strip, meter]}}" },
      tests = { {}, { analyzer = "G1", lot = "M1", code = "", result = "100", unit = "mg/dL",
          performed_at = "2026-10-08 09:30" } }, finds = {}, judged = 0 },
    { "not asked where nobody names a method", tests = { {}, { performed_at = "2026-10-08 09:30" } }, finds = {},
      judged = 0 },
  },
}
