-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "clinic.shared-controls",
  title = "Controls are not left to one person day after day",
  severity = "notice",
  duty = "policy",
  basis = { "the clinic's own policy" },
  params = { days = { 3, unit = "days", meaning = "how many days with controls in a row are too many" } },
  subject = { "analyzer", "operator" },
  check = function(site)
    local latest = {} -- by analyzer: the latest day with controls, who ran them, and for how many days in a row
    local function close(analyzer)
      local day = latest[analyzer]
      if day and day.operator then
        judge { ok = day.in_a_row < site.param "days", day = day.day, analyzer = analyzer, operator = day.operator,
          because = day.places }
      end
    end
    for run in site.runs { is_test = false } do
      local day = latest[run.analyzer]
      if not day or day.day ~= run.day then
        close(run.analyzer)
        local goes_on = day and day.operator == run.operator
        day = { day = run.day, operator = run.operator, in_a_row = goes_on and day.in_a_row + 1 or 1, places = {} }
        latest[run.analyzer] = day
      elseif day.operator ~= run.operator then
        day.operator, day.in_a_row = nil, 0 -- shared that day
      end
      table.insert(day.places, run.place)
    end
    for analyzer in pairs(latest) do close(analyzer) end
  end,
  affects = "none",
  says = "{operator} alone has run the controls on {analyzer} several days in a row",
  remedy = "Let someone else who is trained run the controls tomorrow.",
  examples = {
    { "three days in a row",
      controls = { { performed_at = "2026-10-05 08:00" }, { performed_at = "2026-10-06 08:00" },
        { performed_at = "2026-10-07 08:00" } },
      finds = { { analyzer = "A1", operator = "ann", from = "2026-10-07", events = 1, tests = {} } }, judged = 3 },
    { "days without controls do not count",
      controls = { { performed_at = "2026-10-02 08:00" }, { performed_at = "2026-10-05 08:00" },
        { performed_at = "2026-10-08 08:00" }, { performed_at = "2026-10-09 08:00" } },
      finds = { { operator = "ann", from = "2026-10-08", to = "2026-10-09", events = 2 } } },
    { "two days, then someone else",
      controls = { { performed_at = "2026-10-05 08:00" }, { performed_at = "2026-10-06 08:00" },
        { performed_at = "2026-10-07 08:00", operator = "ben" } },
      finds = {}, judged = 3, met = 3 },
    { "a day shared with someone else is nobody's",
      controls = { { performed_at = "2026-10-05 08:00" }, { performed_at = "2026-10-06 08:00" },
        { performed_at = "2026-10-07 08:00" }, { performed_at = "2026-10-07 08:10", operator = "ben" } },
      finds = {}, judged = 2, met = 2 },
    { "no controls at all", finds = {}, judged = 0 },
  },
}
