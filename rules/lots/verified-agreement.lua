-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "lots.verified-agreement",
  title = "A new lot agrees with the old one",
  severity = "at-risk",
  duty = "practice",
  basis = { "CLSI EP26 (from memory)", "common practice, no source" },
  params = { max_mean_difference_percent = { unit = "%",
      meaning = "largest mean difference of the new lot from the old one",
      method = "lot_check.max_mean_difference_percent" } },
  subject = { "method", "lot" },
  finding = "state",
  check = function(site)
    local lots, order = {}, {}
    for _, row in ipairs(site.records "lot_checks") do
      local method = row.method or site.method_of(row.analyzer, day_of(row.checked_at))
      local old, new = site.result(row.old_result), site.result(row.new_result)
      if method and old and new and old ~= 0 then
        local key = method .. "\31" .. row.new_lot
        local lot = lots[key]
        if not lot then
          lot = { method = method, lot = row.new_lot, sum = 0, rows = {} }
          lots[key] = lot
          table.insert(order, lot)
        end
        lot.sum = lot.sum + (new - old) / old * 100
        table.insert(lot.rows, row)
        local day = day_of(row.checked_at)
        lot.used = lot.used or (day >= site.from and day <= site.to)
      end
    end
    for _, lot in ipairs(order) do
      local limit = site.param("max_mean_difference_percent", lot.method)
      local tested = tests { method = lot.method, lot = lot.lot, period = true }
      if limit and (lot.used or #tested > 0) then
        local mean = lot.sum / #lot.rows
        judge { ok = not beyond(math.abs(mean), limit), method = lot.method, lot = lot.lot, tests = tested,
          mean = string.format("%.1f", mean), limit = limit, because = lot.rows }
      end
    end
  end,
  says = "Lot {lot} differs from the old lot by {mean} % on average; {limit} % is allowed",
  remedy = "Stop using the lot. Repeat the check with fresh specimens and call the maker. The laboratory director " ..
    "decides about the results listed.",
  examples = {
    { "7 % too high", lot_checks = { { new_lot = "S2", specimen = "V1", old_result = "10.0", new_result = "10.7" } },
      tests = { { lot = "S2", code = "42" } }, finds = { { method = "strip", lot = "S2", tests = { "T1" } } },
      judged = 1 },
    { "exactly 6 %", lot_checks = { { new_lot = "S2", specimen = "V1", old_result = "10.0", new_result = "10.6" } },
      tests = { { lot = "S2", code = "42" } }, finds = {}, judged = 1, met = 1 },
    { "the mean counts, not the single one",
      lot_checks = { { new_lot = "S2", specimen = "V1", old_result = "10.0", new_result = "11.0" },
        { new_lot = "S2", specimen = "V2", old_result = "10.0", new_result = "9.0" } },
      finds = {}, judged = 1, met = 1 },
    { "checked earlier and not used this month",
      lot_checks = { { new_lot = "S2", specimen = "V1", checked_at = "2026-09-01 09:00", old_result = "10.0",
          new_result = "12.0" } },
      finds = {}, judged = 0 },
    { "the method sets no limit",
      lot_checks = { { analyzer = "G1", new_lot = "M1", specimen = "V1", old_result = "100", new_result = "150" } },
      finds = {}, judged = 0 },
  },
}
