-- SPDX-License-Identifier: GPL-3.0-or-later
local surely_apart = shared "surely-apart"

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
      local old, _, old_bound = site.result(row.old_result)
      local new, _, new_bound = site.result(row.new_result)
      local beyond_range = old_bound or new_bound
      if method and old and new and old ~= 0 then
        local key = method .. "\31" .. row.new_lot
        local lot = lots[key]
        if not lot then
          lot = { method = method, lot = row.new_lot, sum = 0, count = 0, apart = 0, rows = {} }
          lots[key] = lot
          table.insert(order, lot)
        end
        local difference = (new - old) / old * 100
        if not beyond_range then
          lot.sum, lot.count = lot.sum + difference, lot.count + 1
        elseif surely_apart(old, old_bound, new, new_bound) then
          lot.apart = math.max(lot.apart, math.abs(difference))
        end
        table.insert(lot.rows, row)
        local day = day_of(row.checked_at)
        lot.used = lot.used or (day >= site.from and day <= site.to)
      end
    end
    for _, lot in ipairs(order) do
      local limit = site.param("max_mean_difference_percent", lot.method)
      local tested = tests { method = lot.method, lot = lot.lot, period = true }
      if limit and (lot.used or #tested > 0) then
        local mean, apart = lot.count > 0 and lot.sum / lot.count or 0, beyond(lot.apart, limit)
        local difference = string.format("%.1f %% on average", mean)
        if apart then difference = string.format("%.1f %% or more, with a result beyond the range", lot.apart) end
        if apart or lot.count > 0 then
          judge { ok = not apart and not beyond(math.abs(mean), limit), method = lot.method, lot = lot.lot,
            tests = tested, difference = difference, limit = limit, because = lot.rows }
        end
      end
    end
  end,
  says = "Lot {lot} differs from the old lot by {difference}; {limit} % is allowed",
  remedy = "Stop using the lot. Repeat the check with fresh specimens and call the maker. The laboratory director " ..
    "decides about the results listed.",
  about = "What lies beyond the range (>N, <N) is no part of the mean; it breaks the limit where N alone does. " ..
    "Such a specimen is none of those that lots.verified counts.",
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
    { "both beyond the same end: nothing is known of their difference",
      lot_checks = { { new_lot = "S2", specimen = "V1", old_result = ">14.6", new_result = ">14.6" } },
      finds = {}, judged = 0 },
    { "beyond the range, and far from it",
      lot_checks = { { new_lot = "S2", specimen = "V1", old_result = ">14.6", new_result = "10.0" },
        { new_lot = "S2", specimen = "V2", old_result = "10.0", new_result = "10.0" } },
      finds = { { lot = "S2" } }, judged = 1 },
    { "beyond the range, and near it, or perhaps the same",
      lot_checks = { { new_lot = "S2", specimen = "V1", old_result = ">14.6", new_result = "14.5" },
        { new_lot = "S2", specimen = "V2", old_result = ">14.6", new_result = "20.0" },
        { new_lot = "S2", specimen = "V3", old_result = "10.0", new_result = "10.0" } },
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
