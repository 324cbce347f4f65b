-- SPDX-License-Identifier: GPL-3.0-or-later
local THE_END = 0x7fffffff -- a place behind all runs

-- What is asked of a method, looked up once: its patterns and its levels.
local function asked_of(site, known, method)
  local asked = known[method]
  if not asked then
    asked = { rules = site.param("rules", method), levels = site.levels(method), has = {} }
    for _, level in ipairs(asked.levels) do asked.has[level] = true end
    known[method] = asked
  end
  return asked
end

-- Where a control belongs: with the others of its analyzer and method; alone if its level is none of the method's.
local function bench_of(benches, order, analyzer, method, level, asked)
  local together = asked.has[level]
  local key = analyzer .. "\31" .. method .. (together and "" or "\31" .. level)
  if not benches[key] then
    benches[key] = { analyzer = analyzer, method = method, rules = asked.rules,
      levels = together and asked.levels or { level }, controls = {}, series = {} }
    table.insert(order, benches[key])
  end
  return benches[key]
end

-- Controls of one bench: every completed pattern is judged, then the controls that completed none.
local function judge_bench(site, bench)
  local hits = stats.multirule(bench.series, bench.levels, bench.rules)
  for _, hit in ipairs(hits) do
    hit.by, hit.from = bench.series[hit.control], bench.series[hit.first]
    hit.by.completes = true
  end
  table.sort(hits, function(a, b) -- across levels in the order of the sets
    if a.across ~= b.across then return b.across end
    if a.across and a.by.day ~= b.by.day then return a.by.day < b.by.day end
    if a.across and a.by.set ~= b.by.set then return a.by.set < b.by.set end
    if a.control ~= b.control then return a.control < b.control end
    return a.pattern < b.pattern
  end)
  -- backwards: doubt ends at the next good control (of the level, or of any) that completes no pattern
  local next_of, next_of_any = {}, nil
  for i = #bench.controls, 1, -1 do
    local control = bench.controls[i]
    control.ends, control.ends_across = next_of[control.level], next_of_any
    if control.good and not control.completes then
      next_of[control.level], next_of_any = control.place, control.place
    end
  end
  local covered = {} -- by level and pattern: tests before this place are in the streak already
  for _, hit in ipairs(hits) do
    local control, level, ends = hit.by, hit.by.level, hit.by.ends
    if hit.across then level, ends = nil, control.ends_across end
    local key = (level or "") .. "\31" .. hit.pattern
    local subject = { ok = true, count = 0, at = control.at, method = bench.method, analyzer = bench.analyzer,
      level = level, detail = hit.pattern }
    if hit.begins then
      judge(subject) -- ends the streak before
      covered[key] = -1
    end
    subject.ok, subject.count, subject.because = false, control.counted and 0 or 1, { hit.from.place, control.place }
    subject.tests = tests { analyzer = bench.analyzer, method = bench.method,
      after = math.max(hit.from.place, covered[key]), before = ends }
    judge(subject)
    control.counted, covered[key] = true, ends or THE_END
  end
  for _, control in ipairs(bench.series) do
    local counts = control.day >= site.from and control.day <= site.to
    if counts and not control.completes then judge { ok = true, at = control.at } end
  end
end

return rule {
  id = "controls.multirule",
  title = "Control results show no pattern that chance alone seldom makes",
  severity = "at-risk",
  duty = "policy",
  basis = { "Westgard et al., Clin Chem 1981;27:493-501", "CLSI C24 (from memory)" },
  params = { rules = { {}, meaning = "the patterns looked for", method = "controls.multirule" } },
  subject = { "method", "analyzer", "level", "detail" },
  check = function(site)
    local benches, order, known = {}, {}, {}
    for _, place, at, day, analyzer, method, level, lot, z, failed in site.runs({ is_test = false },
      "place", "at", "day", "analyzer", "method", "level", "control_lot", "z", "failed") do
      local asked = method and asked_of(site, known, method)
      if asked and #asked.rules > 0 then
        local bench = bench_of(benches, order, analyzer, method, level, asked)
        if bench.day ~= day then bench.day, bench.today = day, {} end
        local control = { place = place, at = at, day = day, level = level, lot = lot, z = z, good = failed == false }
        table.insert(bench.controls, control)
        if z then
          bench.today[level] = (bench.today[level] or 0) + 1
          control.set = bench.today[level] -- the n-th of its level that day belongs to the day's n-th set
          table.insert(bench.series, control)
        end
      end
    end
    for _, bench in ipairs(order) do judge_bench(site, bench) end
  end,
  says = "Controls of {method} on {analyzer} completed the pattern {detail} {events:time}: {span}",
  remedy = "Stop and look for the cause: a new lot, an old control, the way of running it, the analyzer. Write it " ..
    "down as an action. The laboratory director reviews the results listed.",
  about = "z is how many standard deviations a control lies from the assigned mean. 1-3s: one beyond 3. 2-2s, " ..
    "3-1s, 4-1s: so many in a row on one side beyond 2, 1, 1. 6x to 12x: so many in a row on one side of the mean. " ..
    "R-4s: in one set one level beyond +2, another beyond -2. 2of3-2s: in a set of three, two beyond 2 on one " ..
    "side. 2-2s, 4-1s and the x rules are looked for across levels too.",
  examples = {
    { "beyond three standard deviations: from there to the next good control",
      controls = { { performed_at = "2026-10-08 08:00", result = "5.7" }, { performed_at = "2026-10-08 10:00" } },
      tests = { { performed_at = "2026-10-08 07:00" }, { performed_at = "2026-10-08 09:00" },
        { performed_at = "2026-10-08 11:00" } },
      finds = { { method = "strip", analyzer = "A1", level = "low", detail = "1-3s", from = "2026-10-08 08:00",
        events = 1, tests = { "T2" } } }, judged = 2, met = 1 },
    { "exactly three is met", controls = { { result = "5.6" } }, finds = {}, judged = 1, met = 1 },
    { "twice in a row beyond two on one side; the tests from the first of them on",
      controls = { { performed_at = "2026-10-07 08:00", result = "5.5" },
        { performed_at = "2026-10-08 08:00", result = "5.5" } },
      tests = { { performed_at = "2026-10-07 09:00" }, { performed_at = "2026-10-08 09:00" } },
      finds = { { level = "low", detail = "2-2s", from = "2026-10-08 08:00", tests = { "T1", "T2" } } },
      judged = 2, met = 1 },
    { "once above and once below is no row", controls = { { performed_at = "2026-10-07 08:00", result = "5.5" },
        { performed_at = "2026-10-08 08:00", result = "4.5" } }, finds = {}, judged = 2, met = 2 },
    { "a new control lot begins a new series", lots = { { lot = "C2", use = "control", level = "low", mean = "5.0",
        sd = "0.2" } },
      controls = { { performed_at = "2026-10-07 08:00", result = "5.5" },
        { performed_at = "2026-10-08 08:00", result = "5.5", control_lot = "C2" } }, finds = {}, judged = 2,
        met = 2 },
    { "both levels of a day beyond two on one side: across levels",
      controls = { { result = "5.5" }, { performed_at = "2026-10-08 08:10", level = "high", result = "11.0" } },
      finds = { { detail = "2-2s", from = "2026-10-08 08:10" } }, judged = 2, met = 1 },
    { "one above two, the other below: across levels",
      controls = { { result = "5.5" }, { performed_at = "2026-10-08 08:10", level = "high", result = "9.0" } },
      finds = { { detail = "R-4s" } }, judged = 2, met = 1 },
    { "two complete sets beyond one make 4-1s of two levels",
      controls = { { performed_at = "2026-10-07 08:00", result = "5.3" },
        { performed_at = "2026-10-07 08:10", level = "high", result = "10.6" },
        { performed_at = "2026-10-08 08:00", result = "5.3" },
        { performed_at = "2026-10-08 08:10", level = "high", result = "10.6" } },
      finds = { { detail = "4-1s", from = "2026-10-08 08:10" } }, judged = 4, met = 3 },
    { "a level that the method does not ask for goes by its own results alone",
      lots = { { lot = "C1", method = "strip", use = "control", level = "mid", mean = "7.0", sd = "0.3" } },
      controls = { { performed_at = "2026-10-08 08:00", result = "5.5" },
        { performed_at = "2026-10-08 08:10", level = "mid", result = "7.8" },
        { performed_at = "2026-10-09 08:10", level = "mid", result = "7.8" } },
      finds = { { level = "mid", detail = "2-2s", from = "2026-10-09 08:10" } }, judged = 3, met = 2 },
    { "an incomplete set between breaks them",
      controls = { { performed_at = "2026-10-06 08:00", result = "5.3" },
        { performed_at = "2026-10-06 08:10", level = "high", result = "10.6" },
        { performed_at = "2026-10-07 08:00", result = "5.3" },
        { performed_at = "2026-10-08 08:00", result = "5.0" },
        { performed_at = "2026-10-08 08:10", level = "high", result = "10.6" } }, finds = {}, judged = 5, met = 5 },
    { "a streak of two, then a new one",
      controls = { { performed_at = "2026-10-06 08:00", result = "5.7" },
        { performed_at = "2026-10-07 08:00", result = "5.7" }, { performed_at = "2026-10-08 08:00", result = "5.0" },
        { performed_at = "2026-10-09 08:00", result = "4.3" } },
      finds = { { detail = "1-3s", from = "2026-10-06 08:00", to = "2026-10-07 08:00", events = 2 },
        { detail = "1-3s", from = "2026-10-09 08:00", events = 1 }, { detail = "2-2s", events = 1 } },
      judged = 4, met = 1 },
    { "a control lot without mean and sd has no z", lots = { { lot = "C1", method = "strip", use = "control",
        level = "low", sd = "" } }, controls = { { result = "9.9" } }, finds = {}, judged = 0 },
    { "the method chose no rules", settings = { strip = "controls: {levels: [low, high]}" },
      controls = { { result = "5.7" } }, finds = {}, judged = 0 },
  },
}
