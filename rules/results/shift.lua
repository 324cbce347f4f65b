-- SPDX-License-Identifier: GPL-3.0-or-later
-- For the examples: tests on S1 on 8 October and on S2 the day after, their results rising by 0.05 from a first one.
local function two_lots(old, new, first_old, first_new, new_lot)
  local rows = {}
  for i = 1, old + new do
    local n = i <= old and i - 1 or i - old - 1
    rows[i] = {
      performed_at = string.format("2026-10-%02d %02d:%02d", i <= old and 8 or 9, 8 + n // 12, n % 12 * 5),
      lot = i <= old and "S1" or new_lot or "S2", code = i <= old and "31" or "42",
      result = string.format("%.2f", (i <= old and first_old or first_new) + n * 0.05),
    }
  end
  return rows
end

return rule {
  id = "results.shift",
  title = "Results do not shift when a new lot is begun",
  severity = "notice",
  duty = "practice",
  basis = { "Mann and Whitney, Ann Math Stat 1947;18:50-60", "common practice, no source" },
  params = { p = { 0.001, meaning = "chance below which the difference is no accident" } },
  subject = { "analyzer", "lot" },
  finding = "each",
  check = function(site)
    local FEWEST, MOST = 20, 50
    local known, blocks, changes = {}, {}, {}
    for _, row in ipairs(site.records "lots") do
      if row.use == "reagent" then known[row.method .. "\31" .. row.lot] = true end
    end
    for run, analyzer, method, lot, number, bound in site.runs({ is_test = true },
      "analyzer", "method", "lot", "number", "bound") do
      local of_analyzer = blocks[analyzer] or {}
      blocks[analyzer] = of_analyzer
      local block = of_analyzer[method or ""]
      if method and not (block and block.lot == lot) then
        local before = block and block.count >= FEWEST and block.last
        block = known[method .. "\31" .. lot] and { lot = lot, before = before, count = 0, first = {}, last = {},
          analyzer = analyzer, at = run.at, place = run.place } or nil
        of_analyzer[method] = block -- none: a test on an unknown lot breaks the block
        if block and before then table.insert(changes, block) end
      end
      if block and number and not bound then
        local count = block.count + 1
        block.count, block.last[(count - 1) % MOST + 1] = count, number -- the latest 50, in no order
        if block.before and count <= MOST then block.first[count] = number end
        if count == FEWEST then block.judged_on = run.day end
      end
    end
    for _, change in ipairs(changes) do
      if change.judged_on then
        local p = stats.mann_whitney(change.before, change.first)
        judge { ok = not beyond(site.param "p", p), at = change.at, judged_on = change.judged_on, lot = change.lot,
          analyzer = change.analyzer, before = string.format("%.4g", stats.mean(change.before)),
          after = string.format("%.4g", stats.mean(change.first)), because = { change.place } }
      end
    end
  end,
  says = "Results on {analyzer} shifted when lot {lot} was begun at {from}: mean {before} before, {after} after",
  remedy = "Look at the check of the lot, the codes and the controls of these days. Other patients, or another " ..
    "season, shift results too. Write down what was found; the laboratory director decides whether more is needed.",
  about = "Up to 50 results before and 50 after the change are compared by the Mann-Whitney test, at least 20 on " ..
    "each side.",
  examples = {
    { "twenty results on each lot that do not overlap", tests = two_lots(20, 20, 5.0, 7.0),
      finds = { { analyzer = "A1", lot = "S2", from = "2026-10-09 08:00", to = "2026-10-09 08:00", tests = {} } },
      judged = 1 },
    { "the same results on both", tests = two_lots(20, 20, 5.0, 5.0), finds = {}, judged = 1, met = 1 },
    { "nineteen on the new lot are too few", tests = two_lots(20, 19, 5.0, 7.0), finds = {}, judged = 0 },
    { "nineteen on the old lot are too few", tests = two_lots(19, 20, 5.0, 7.0), finds = {}, judged = 0 },
    { "only the last fifty on the old lot count", tests = two_lots(100, 20, 5.0, 8.25), finds = {}, judged = 1,
      met = 1 },
    { "judged in the month of the twentieth result on the new lot", from = "2026-10-01", to = "2026-10-08",
      tests = two_lots(20, 20, 5.0, 7.0), finds = {}, judged = 0 },
    { "a lot that nobody knows is no lot to change to", tests = two_lots(20, 20, 5.0, 7.0, "S9"), finds = {},
      judged = 0 },
  },
}
