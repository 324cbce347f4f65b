-- SPDX-License-Identifier: GPL-3.0-or-later
local surely_apart = shared "surely-apart"

-- What one check says: `percent`, a part of the mean; `beyond_range`, at least so many percent; `contrary`, results
-- that do not agree whatever is allowed; `same`, the same word. nil: nothing was compared.
local function compare(site, method, row)
  local old, old_word, old_bound = site.result(row.old_result)
  local new, new_word, new_bound = site.result(row.new_result)
  local contrary = { contrary = row.new_result .. " where the old lot gave " .. row.old_result }
  if old_word and new_word then
    if old_word ~= new_word then return contrary end
    return site.setting(method, "words") and { same = true }
  end
  if not old or not new then return nil end
  if old == 0 then -- no percentage can be taken of it
    if old_bound or new_bound then return nil end
    return beyond(math.abs(new), site.allowable_error(method, 0) or 0) and contrary or { percent = 0 }
  end
  local percent = (new - old) / old * 100
  if not old_bound and not new_bound then return { percent = percent } end
  return { beyond_range = surely_apart(old, old_bound, new, new_bound) and math.abs(percent) or 0 }
end

-- The checks of each lot, in the order of time. Against itself no lot is checked.
local function lots_checked(site)
  local lots, order = {}, {}
  for _, row in ipairs(site.records "lot_checks") do
    local method = row.method or site.method_of(row.analyzer, day_of(row.checked_at))
    local said = method and row.old_lot ~= row.new_lot and compare(site, method, row)
    if said then
      local key = method .. "\31" .. row.new_lot
      if not lots[key] then
        lots[key] = { method = method, lot = row.new_lot, rows = {}, said = {}, sum = 0, count = 0, apart = 0 }
        table.insert(order, lots[key])
      end
      table.insert(lots[key].rows, row)
      table.insert(lots[key].said, said)
    end
  end
  return order
end

local function take(lot, said)
  lot.contrary, lot.same = lot.contrary or said.contrary, lot.same or said.same
  lot.apart = math.max(lot.apart, said.beyond_range or 0)
  if said.percent then lot.sum, lot.count = lot.sum + said.percent, lot.count + 1 end
end

-- What is wrong with the checks taken so far, all together; nil if nothing is.
local function wrong_with(lot, limit)
  if lot.contrary then return "does not agree with the old lot: " .. lot.contrary end
  local mean, said = lot.count > 0 and lot.sum / lot.count or 0, nil
  if limit and beyond(lot.apart, limit) then
    said = string.format("%.1f %% or more, with a result beyond the range", lot.apart)
  elseif limit and beyond(math.abs(mean), limit) then
    said = string.format("%.1f %% on average", mean)
  end
  return said and string.format("differs from the old lot by %s; %g %% is allowed", said, limit)
end

-- Later checks make good no test that was run before them: the tests of the period that were run while enough checks
-- were there and were wrong, and what was wrong. Takes all checks.
local function tested_while_wrong(lot, limit, asked)
  local places, wrong, since = {}, nil, nil
  for i, row in ipairs(lot.rows) do
    take(lot, lot.said[i])
    local now = i >= asked and wrong_with(lot, limit)
    if since and not now then
      for _, place in ipairs(tests { method = lot.method, lot = lot.lot, period = true, since = since,
        earlier_than = row.checked_at }) do
        table.insert(places, place)
      end
      since = nil
    elseif now then
      since, wrong = since or row.checked_at, wrong or now
    end
  end
  return places, wrong and wrong .. " (until it was checked again)"
end

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
    for _, lot in ipairs(lots_checked(site)) do
      local limit = site.param("max_mean_difference_percent", lot.method)
      local asked = site.setting(lot.method, "lot_check.specimens") or 1
      local in_doubt, wrong = tested_while_wrong(lot, limit, asked)
      if wrong_with(lot, limit) then
        in_doubt, wrong = tests { method = lot.method, lot = lot.lot, period = true }, wrong_with(lot, limit)
      elseif #in_doubt == 0 then
        wrong = nil
      end
      local used = #tests { method = lot.method, lot = lot.lot, period = true } > 0
      for _, row in ipairs(lot.rows) do
        local day = day_of(row.checked_at)
        used = used or (day >= site.from and day <= site.to)
      end
      if used and (wrong or lot.same or (limit and lot.count > 0)) then
        judge { ok = not wrong, method = lot.method, lot = lot.lot, tests = in_doubt, wrong = wrong,
          because = lot.rows }
      end
    end
  end,
  says = "Lot {lot} {wrong}",
  remedy = "Stop using the lot. Repeat the check with fresh specimens and call the maker. The laboratory director " ..
    "decides about the results listed.",
  about = "What lies beyond the range (>N, <N) is no part of the mean; it breaks the limit where N alone does. " ..
    "Such a specimen is none of those that lots.verified counts. Words that differ do not agree, whatever the " ..
    "limit; nor does another number where the old lot gave 0, but for the method's allowable error. Tests run " ..
    "while the checks asked for were wrong stay in doubt when later checks make the mean good again.",
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
    { "words that differ do not agree",
      lot_checks = { { analyzer = "B1", new_lot = "K2", old_result = "positive", new_result = "negative" },
        { analyzer = "B1", new_lot = "K2", old_result = "negative", new_result = "negative" } },
      tests = { { analyzer = "B1", lot = "K2", code = "", result = "negative", unit = "" } },
      finds = { { method = "cassette", lot = "K2", tests = { "T1" } } }, judged = 1 },
    { "the same words",
      lot_checks = { { analyzer = "B1", new_lot = "K2", old_result = "positive", new_result = "positive" } },
      finds = {}, judged = 1, met = 1 },
    { "a number where the old lot gave 0",
      lot_checks = { { new_lot = "S2", old_result = "0", new_result = "6.0" } }, finds = { { lot = "S2" } } },
    { "near 0 by the method's allowable error",
      settings = { meter = "lot_check: {specimens: 1, max_mean_difference_percent: 6}" },
      lot_checks = { { analyzer = "G1", new_lot = "M2", old_result = "0", new_result = "6" } }, finds = {}, met = 1 },
    { "against itself no lot is checked",
      lot_checks = { { old_lot = "S2", new_lot = "S2", old_result = "10.0", new_result = "12.0" } }, finds = {},
      judged = 0 },
    { "a later check makes no earlier test good",
      settings = { strip = "lot_check: {specimens: 1, max_mean_difference_percent: 6}" },
      lot_checks = { { new_lot = "S2", old_result = "10.0", new_result = "10.8" },
        { new_lot = "S2", checked_at = "2026-10-09 09:00", old_result = "10.0", new_result = "10.0" } },
      tests = { { lot = "S2", code = "42", performed_at = "2026-10-04 09:00" },
        { lot = "S2", code = "42", performed_at = "2026-10-08 09:00" },
        { lot = "S2", code = "42", performed_at = "2026-10-09 09:00" } },
      finds = { { lot = "S2", tests = { "T2" } } }, judged = 1 },
    { "checked again before anyone was tested",
      settings = { strip = "lot_check: {specimens: 1, max_mean_difference_percent: 6}" },
      lot_checks = { { new_lot = "S2", old_result = "10.0", new_result = "10.8" },
        { new_lot = "S2", checked_at = "2026-10-06 09:00", old_result = "10.0", new_result = "10.0" } },
      tests = { { lot = "S2", code = "42" } }, finds = {}, judged = 1, met = 1 },
  },
}
