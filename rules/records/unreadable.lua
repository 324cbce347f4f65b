-- SPDX-License-Identifier: GPL-3.0-or-later
-- The tests that ran on its analyzer behind a control that was refused, to the end of its day: nobody knows whether the
-- control was good.
local function behind_refused_controls(site, rows)
  local firsts, order, ids = {}, {}, {}
  for _, row in ipairs(rows) do
    if row.kind == "controls" and row.at and row.analyzer then
      local key = row.analyzer .. "\31" .. day_of(row.at)
      if not firsts[key] then table.insert(order, key) end
      if not firsts[key] or earlier(row.at, firsts[key].at) then firsts[key] = row end
    end
  end
  for _, key in ipairs(order) do
    local row = firsts[key]
    for _, place in ipairs(tests { analyzer = row.analyzer, since = row.at, day = day_of(row.at) }) do
      table.insert(ids, site.run(place).test)
    end
  end
  if #ids == 0 then return "" end
  local more = #ids > 6 and " and " .. #ids - 5 .. " more" or ""
  return "; behind controls that could not be read: " .. table.concat(ids, ", ", 1, more == "" and #ids or 5) .. more
end

return rule {
  id = "records.unreadable",
  title = "Each row of the logs can be read",
  severity = "practice",
  duty = "practice",
  basis = { "ISO 15189:2022, 8.4 (from memory)", "common practice, no source" },
  subject = { "record" },
  finding = "state",
  check = function(site)
    local refused = {}
    for _, row in ipairs(site.refusals) do
      refused[row.file] = refused[row.file] or {}
      table.insert(refused[row.file], row)
    end
    for _, file in ipairs(site.files) do
      local rows = refused[file.file] or {}
      if file.refused then
        judge { ok = false, record = file.file, what = "the file", reason = file.refused, behind = "",
          because = { file } }
      elseif #rows > 0 then
        local told = rows[#rows].to_end and rows[#rows] or rows[1]
        judge { ok = false, count = #rows, record = file.file, what = #rows == 1 and "one row" or #rows .. " rows",
          reason = "line " .. told.line .. ": " .. told.reason, because = rows,
          behind = behind_refused_controls(site, rows) }
      end
      judge { ok = true, count = file.rows - #rows, record = file.file }
    end
  end,
  says = "{record}: {what} could not be read ({reason}){behind}",
  remedy = "Open the log, look at the lines named, and write them again as they should be. All other rows count, " ..
    "but for those behind a line from which nothing can be read to the end; what a line named would have shown, " ..
    "such as a failed control, is not judged before it can be read.",
  examples = {
    { "one bad row",
      refused = { { kind = "tests", file = "records/tests.csv", line = 7, reason = "not a real calendar date" } },
      finds = { { record = "records/tests.csv", events = 1 } } },
    { "two bad rows of one file are one finding",
      refused = { { kind = "tests", file = "records/tests.csv", line = 7, reason = "x" },
        { kind = "tests", file = "records/tests.csv", line = 9, reason = "x" } },
      finds = { { record = "records/tests.csv" } } },
    { "a control: the tests behind it that day are named",
      refused = { { kind = "controls", file = "records/controls.csv", line = 7, reason = "x", analyzer = "A1",
        at = "2026-10-08 08:30" } },
      tests = { { performed_at = "2026-10-08 08:00" }, { performed_at = "2026-10-08 09:00" },
        { performed_at = "2026-10-09 09:00" } },
      finds = { { tests = {}, says = "records/controls.csv: one row could not be read (line 7: x); behind controls " ..
        "that could not be read: T2" } } },
    { "nothing is read to the end of the file: that is told, whatever stands above",
      refused = { { kind = "tests", file = "records/tests.csv", line = 7, reason = "x" },
        { kind = "tests", file = "records/tests.csv", line = 9, reason = "a quote is never closed", to_end = true } },
      finds = { { says = "records/tests.csv: 2 rows could not be read (line 9: a quote is never closed)" } } },
    { "a whole file", refused = { { file = "records/fridge.csv", line = 0, reason = "no such log" } },
      finds = { { record = "records/fridge.csv" } } },
    { "all rows can be read", tests = { {} }, finds = {} },
  },
}
