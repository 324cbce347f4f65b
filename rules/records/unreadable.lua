-- SPDX-License-Identifier: GPL-3.0-or-later
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
        judge { ok = false, record = file.file, what = "the file", reason = file.refused, because = { file } }
      elseif #rows > 0 then
        judge { ok = false, count = #rows, record = file.file, what = #rows == 1 and "one row" or #rows .. " rows",
          reason = "line " .. rows[1].line .. ": " .. rows[1].reason, because = rows }
      end
      judge { ok = true, count = file.rows - #rows, record = file.file }
    end
  end,
  says = "{record}: {what} could not be read ({reason})",
  remedy = "Open the log, look at the lines named, and write them again as they should be. Nothing else was lost: " ..
    "all other rows count.",
  examples = {
    { "one bad row",
      refused = { { kind = "tests", file = "records/tests.csv", line = 7, reason = "not a real calendar date" } },
      finds = { { record = "records/tests.csv", events = 1 } } },
    { "two bad rows of one file are one finding",
      refused = { { kind = "tests", file = "records/tests.csv", line = 7, reason = "x" },
        { kind = "tests", file = "records/tests.csv", line = 9, reason = "x" } },
      finds = { { record = "records/tests.csv" } } },
    { "a whole file", refused = { { file = "records/fridge.csv", line = 0, reason = "no such log" } },
      finds = { { record = "records/fridge.csv" } } },
    { "all rows can be read", tests = { {} }, finds = {} },
  },
}
