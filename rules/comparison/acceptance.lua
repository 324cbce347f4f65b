-- SPDX-License-Identifier: GPL-3.0-or-later
local acceptable = shared "acceptable-sample"

return rule {
  id = "comparison.acceptance",
  title = "Proficiency and split samples come out right",
  severity = "at-risk",
  duty = "practice",
  basis = { "CLSI QMS24 (from memory)", "common practice, no source" },
  needs = "comparisons",
  subject = { "analyzer", "record" },
  finding = "each",
  check = function(site)
    local rounds, order = {}, {}
    for _, row in ipairs(site.records "comparisons") do
      local good, key = acceptable(site, row), row.analyzer .. "\31" .. row.event
      local day = day_of(row.tested_at)
      local now = day >= site.from and day <= site.to
      if good and now then judge { ok = true, at = row.tested_at } end
      if good == false then
        if not rounds[key] then
          rounds[key] = { rows = {}, count = 0 }
          table.insert(order, rounds[key])
        end
        local round = rounds[key]
        table.insert(round.rows, row)
        if now then round.count, round.day = round.count + 1, day end
      end
    end
    for _, round in ipairs(order) do
      local first, last = round.rows[1], round.rows[#round.rows]
      if round.day then
        judge { ok = false, count = round.count, at = first.tested_at, to = last.tested_at, judged_on = round.day,
          analyzer = first.analyzer, record = first.event,
          number = #round.rows == 1 and "one sample" or #round.rows .. " samples", sample = first.sample,
          result = first.result, target = first.target, because = round.rows }
      end
    end
  end,
  says = "Round {record} on {analyzer}: {number} not acceptable; the first is sample {sample}, {result} where " ..
    "{target} was to be found",
  remedy = "Find the cause: sample, unit, lot, code, analyzer, way of testing. Write it down as an action. The " ..
    "laboratory director reviews patients' results of these days.",
  about = "A sample is judged by its own limits; a side without one by the method's allowable error about the " ..
    "target; words must be the same. A sample in a unit that is neither the method's nor one of its also_units is " ..
    "not acceptable by the allowable error: beyond it it fails, else it is not judged.",
  examples = {
    { "more than 8 % off the target", comparisons = { { sample = "1", result = "6.5" }, { sample = "2" } },
      finds = { { analyzer = "A1", record = "round-1", from = "2026-10-08 09:00", to = "2026-10-08 09:00", events = 1,
        tests = {} } }, judged = 2, met = 1 },
    { "exactly 8 % off", comparisons = { { result = "6.48" } }, finds = {}, judged = 1, met = 1 },
    { "its own limits go before", comparisons = { { sample = "1", result = "6.48", low = "5.7", high = "6.3" },
        { sample = "2", result = "6.3", low = "5.7", high = "6.30" } }, finds = { { record = "round-1" } }, met = 1 },
    { "the side that is not given goes by the allowable error",
      comparisons = { { sample = "1", result = "9.9", low = "5.7" }, { sample = "2", result = "5.7", low = "5.7" },
        { sample = "3", result = "6.48", low = "5.7" }, { sample = "4", result = "5.0", high = "6.3" } },
      finds = { { record = "round-1" } }, judged = 4, met = 2 },
    { "one limit is enough where there is no allowable error", settings = { strip = "-allowable_error" },
      comparisons = { { result = "9.9", low = "5.7" } }, finds = {}, met = 1 },
    { "two of one round are one finding, from the first to the last",
      comparisons = { { result = "7.0" }, { result = "7.0", tested_at = "2026-10-08 10:00" } },
      finds = { { from = "2026-10-08 09:00", to = "2026-10-08 10:00", events = 1 } }, judged = 2 },
    { "each analyzer for itself", settings = { site = "menu: [strip]" },
      analyzers = { { analyzer = "A2" } },
      comparisons = { { result = "7.0" }, { analyzer = "A2", result = "7.0" } },
      finds = { { analyzer = "A1" }, { analyzer = "A2" } } },
    { "another word", comparisons = { { analyzer = "B1", result = "positive", target = "negative", unit = "" } },
      finds = { { analyzer = "B1" } } },
    { "the same word", comparisons = { { analyzer = "B1", result = "negative", target = "negative", unit = "" } },
      finds = {}, met = 1 },
    { "all in another unit of the method's", comparisons = { { result = "42", target = "42", unit = "mmol/mol" },
        { result = "60", target = "42", unit = "mmol/mol" } }, finds = { { record = "round-1" } }, judged = 2,
        met = 1 },
    { "within the error only in a unit that is not known is not acceptable, and far off still fails",
      comparisons = { { sample = "1", unit = "mmol/Mol" }, { sample = "2", result = "9.9", unit = "mmol/Mol" } },
      finds = { { record = "round-1" } }, judged = 1, met = 0 },
    { "its own limits are in its own unit, whichever that is",
      comparisons = { { result = "42", target = "42", low = "39", high = "45", unit = "mmol/Mol" } }, finds = {},
      met = 1 },
    { "nothing to judge by", settings = { strip = "-allowable_error" }, comparisons = { { result = "7.0" } },
      finds = {}, judged = 0 },
    { "an older round of which one sample lies in the month", from = "2026-10-08", to = "2026-10-31",
      comparisons = { { result = "7.0", tested_at = "2026-10-07 09:00" }, { result = "7.0" } },
      finds = { { from = "2026-10-07 09:00", to = "2026-10-08 09:00" } }, judged = 1 },
    { "no comparisons log is kept", without = { "comparisons" }, finds = {}, judged = 0 },
  },
}
