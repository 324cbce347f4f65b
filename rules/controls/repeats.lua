-- SPDX-License-Identifier: GPL-3.0-or-later
-- Was something written down about a series: an action opened that day, or a note on one of its rows?
local function written_down(series, actions, number)
  if series.noted then return true end
  for _, action in ipairs(actions) do
    local about = action.finding == number or (action.about or ""):match("^controls%f[.%z]")
    local here = action.analyzer == nil or action.analyzer == series.analyzer
    if about and here and action.opened_on == series.day then
      table.insert(series.places, action)
      return true
    end
  end
  return false
end

return rule {
  id = "controls.repeats",
  title = "A failed control is not just run again until it is good",
  severity = "practice",
  duty = "practice",
  basis = { "CLSI C24 (from memory)", "common practice, no source" },
  params = { repeats = { meaning = "how many repeats of a control that failed, on one day, call for a note or an " ..
    "action; not asked if nobody sets it" } },
  subject = { "analyzer", "level", "record" },
  finding = "each",
  check = function(site)
    local most, open, all = site.param "repeats", {}, {}
    if not most then return end
    for run in site.runs { is_test = false } do
      local key = table.concat({ run.analyzer, run.method or "", run.level }, "\31")
      local series = open[key]
      if series and series.day ~= run.day then series = nil end
      if series and run.failed ~= nil then
        series.repeats, series.noted = series.repeats + 1, series.noted or run.noted
        table.insert(series.places, run.place)
      elseif run.failed then
        series = { at = run.at, day = run.day, analyzer = run.analyzer, level = run.level, record = run.record,
          noted = run.noted, repeats = 0, places = { run.place } }
        table.insert(all, series)
      end
      if run.failed == false then series = nil end
      open[key] = series
    end
    local actions = site.records "actions"
    for _, series in ipairs(all) do
      local fields = { at = series.at, analyzer = series.analyzer, level = series.level, record = series.record }
      judge { ok = series.repeats < most or written_down(series, actions, finding_number(fields)), at = series.at,
        analyzer = series.analyzer, level = series.level, record = series.record, repeats = series.repeats,
        because = series.places }
    end
  end,
  affects = "none",
  says = "The control {record} failed; repeats that day: {repeats}, with no note and no action",
  remedy = "Write down now what was done between the runs: another vial, another strip, cleaning. Repeating alone " ..
    "shows nothing; look for the cause, and let someone else look too.",
  about = "A series begins with a failed control and ends with the first good one of its level on its analyzer, or " ..
    "with the day. Asked only where the site or program sets repeats.",
  examples = {
    { "good at the second repeat, and nothing written down",
      settings = { site = "policy: {controls.repeats: {repeats: 2}}" },
      controls = { { result = "9.9" }, { performed_at = "2026-10-08 08:10", result = "9.8" },
        { performed_at = "2026-10-08 08:20" } },
      finds = { { analyzer = "A1", level = "low", record = "2026-10-08 08:00 A1 C1 low", from = "2026-10-08 08:00",
        tests = {} } }, judged = 1 },
    { "one repeat is not too many", settings = { site = "policy: {controls.repeats: {repeats: 2}}" },
      controls = { { result = "9.9" }, { performed_at = "2026-10-08 08:10" } }, finds = {}, judged = 1, met = 1 },
    { "the first good one ends the series", settings = { site = "policy: {controls.repeats: {repeats: 2}}" },
      controls = { { result = "9.9" }, { performed_at = "2026-10-08 08:10" },
        { performed_at = "2026-10-08 08:20" } }, finds = {}, judged = 1, met = 1 },
    { "a note says what was done", settings = { site = "policy: {controls.repeats: {repeats: 2}}" },
      controls = { { result = "9.9" }, { performed_at = "2026-10-08 08:10", result = "9.8", note = "new vial" },
        { performed_at = "2026-10-08 08:20" } }, finds = {}, judged = 1, met = 1 },
    { "an action that day", settings = { site = "policy: {controls.repeats: {repeats: 2}}" },
      controls = { { result = "9.9" }, { performed_at = "2026-10-08 08:10", result = "9.8" },
        { performed_at = "2026-10-08 08:20" } }, actions = { { about = "controls" } }, finds = {}, judged = 1,
      met = 1 },
    { "an action of the next day", settings = { site = "policy: {controls.repeats: {repeats: 2}}" },
      controls = { { result = "9.9" }, { performed_at = "2026-10-08 08:10", result = "9.8" },
        { performed_at = "2026-10-08 08:20" } },
      actions = { { opened_on = "2026-10-09", about = "controls" } }, finds = { { level = "low" } } },
    { "the other level is no repeat", settings = { site = "policy: {controls.repeats: {repeats: 1}}" },
      controls = { { result = "9.9" }, { performed_at = "2026-10-08 08:10", level = "high", result = "10" } },
      finds = {}, judged = 1, met = 1 },
    { "not asked where nobody sets it", controls = { { result = "9.9" },
        { performed_at = "2026-10-08 08:10", result = "9.8" }, { performed_at = "2026-10-08 08:20" } }, finds = {},
      judged = 0 },
  },
}
