-- SPDX-License-Identifier: GPL-3.0-or-later
local surely_apart = shared "surely-apart"

-- Do two results of a method agree? nil: they cannot be compared. Of what lies beyond the range it can be
-- proved that it is far from the other one, never that it is near.
local function agree(site, method, first, second)
  if first.word or second.word then
    return first.word and second.word and first.word == second.word
  end
  local allowed = site.allowable_error(method, first.number)
  local near = allowed and not beyond(math.abs(second.number - first.number), allowed)
  if near == nil or not (first.bound or second.bound) then return near end
  if near or not surely_apart(first.number, first.bound, second.number, second.bound) then return nil end
  return false
end

return rule {
  id = "results.repeat-specimen",
  title = "A specimen tested twice gives the same answer",
  severity = "practice",
  duty = "practice",
  basis = { "common practice, no source" },
  params = { hours = { 4, unit = "h", meaning = "within which two tests of a specimen are compared" } },
  subject = { "record", "detail" },
  finding = "each",
  check = function(site)
    local seconds = site.param "hours" * 3600
    -- A specimen's latest test, of these hours and of the hours before; tests before those are forgotten.
    local latest, older, begun = {}, {}, nil
    local earlier_of = {} -- a test's one before, of the same specimen
    local function compare(before, run)
      if before.method ~= run.method then return end
      local same = agree(site, run.method, before, run)
      if same == nil then return end
      local places = { before.place, run.place }
      judge { ok = same, at = before.at, to = run.at, judged_on = run.day, record = run.specimen, detail = run.test,
        key = before.test, first = before.result, second = run.result, tests = places, because = places }
    end
    local first = site.runs { period = true }()
    for run, place, at, day, method, specimen in site.runs({ is_test = true,
      since = first and first.at - seconds }, "place", "at", "day", "method", "specimen") do
      if day > site.to then break end
      if not begun or at - begun > seconds then latest, older, begun = {}, latest, at end
      if method then
        local before = latest[specimen] or older[specimen]
        latest[specimen], earlier_of[place] = place, before
        while before do
          local test = site.run(before)
          if at - test.at > seconds then break end
          compare(test, run)
          before = earlier_of[before]
        end
      end
    end
  end,
  says = "{record} gave {first} at {from} and {second} at {to:time}",
  remedy = "Find out which result was reported. Was it the same specimen, the same patient? Write down what you " ..
    "find. The laboratory director reviews both results.",
  about = "Numbers may differ by the method's allowable error; words must be the same. What lies beyond the range " ..
    "is compared where its limit is already too far from the other result; a word and a number are not compared.",
  examples = {
    { "more than the allowable 8 % of the earlier one",
      tests = { { specimen = "P7", result = "5.0" },
        { specimen = "P7", performed_at = "2026-10-08 10:00", result = "5.5" } },
      finds = { { record = "P7", detail = "T2", from = "2026-10-08 09:00", to = "2026-10-08 10:00", events = 1,
        tests = { "T1", "T2" } } }, judged = 1 },
    { "exactly 8 %, exactly four hours later",
      tests = { { specimen = "P7", result = "5.0" },
        { specimen = "P7", performed_at = "2026-10-08 13:00", result = "5.4" } },
      finds = {}, judged = 1, met = 1 },
    { "a minute more than four hours",
      tests = { { specimen = "P7", result = "5.0" },
        { specimen = "P7", performed_at = "2026-10-08 13:01", result = "9.0" } },
      finds = {}, judged = 0 },
    { "others are tested between, the last of them more than four hours after the first",
      tests = { { specimen = "P6", result = "5.0" },
        { specimen = "P7", performed_at = "2026-10-08 12:00", result = "5.0" },
        { specimen = "P8", performed_at = "2026-10-08 13:30", result = "5.0" },
        { specimen = "P7", performed_at = "2026-10-08 15:00", result = "9.0" } },
      finds = { { record = "P7", detail = "T4", tests = { "T2", "T4" } } }, judged = 1 },
    { "each pair of three", tests = { { specimen = "P7", result = "5.0" },
        { specimen = "P7", performed_at = "2026-10-08 09:30", result = "6.0" },
        { specimen = "P7", performed_at = "2026-10-08 10:00", result = "7.0" } },
      finds = { { detail = "T2", tests = { "T1", "T2" } }, { detail = "T3", tests = { "T1", "T3" } },
        { detail = "T3", tests = { "T2", "T3" } } }, judged = 3 },
    { "of two at one time, each with the later one", tests = { { specimen = "P7", result = "5.0" },
        { specimen = "P7", result = "5.1" }, { specimen = "P7", performed_at = "2026-10-08 10:00", result = "7.0" } },
      finds = { { detail = "T3", tests = { "T1", "T3" } }, { detail = "T3", tests = { "T2", "T3" } } }, judged = 3 },
    { "words that differ",
      tests = { { analyzer = "B1", lot = "K1", code = "", specimen = "P7", result = "positive", unit = "" },
        { analyzer = "B1", lot = "K1", code = "", specimen = "P7", result = "negative", unit = "",
          performed_at = "2026-10-08 09:20" } }, finds = { { record = "P7", detail = "T2" } }, judged = 1 },
    { "the greater of percent and absolute error counts",
      tests = { { analyzer = "G1", lot = "M1", code = "", specimen = "P7", result = "50", unit = "mg/dL" },
        { analyzer = "G1", lot = "M1", code = "", specimen = "P7", result = "56", unit = "mg/dL",
          performed_at = "2026-10-08 09:20" } }, finds = {}, judged = 1, met = 1 },
    { "a number and what lies beyond the range cannot be compared",
      tests = { { specimen = "P7", result = "14.0" },
        { specimen = "P7", performed_at = "2026-10-08 09:30", result = ">14.6" } },
      finds = {}, judged = 0 },
    { "far below what lies beyond the range, either way round",
      tests = { { specimen = "P7", result = ">14.6" },
        { specimen = "P7", performed_at = "2026-10-08 09:30", result = "13.0" },
        { specimen = "P8", performed_at = "2026-10-08 10:00", result = "13.0" },
        { specimen = "P8", performed_at = "2026-10-08 10:30", result = ">14.6" } },
      finds = { { record = "P7" }, { record = "P8" } }, judged = 2 },
    { "beyond both ends", tests = { { specimen = "P7", result = "<4.2" },
        { specimen = "P7", performed_at = "2026-10-08 09:30", result = ">14.6" } }, finds = { { record = "P7" } } },
    { "beyond the same end, and above a limit that the other one lies beyond",
      tests = { { specimen = "P7", result = ">14.6" },
        { specimen = "P7", performed_at = "2026-10-08 09:30", result = ">13.0" },
        { specimen = "P7", performed_at = "2026-10-08 09:40", result = "20" } }, finds = {}, judged = 0 },
    { "one specimen, two methods", tests = { { specimen = "P7" },
        { analyzer = "G1", lot = "M1", code = "", specimen = "P7", result = "100", unit = "mg/dL" } }, finds = {},
        judged = 0 },
    { "no allowable error to compare by", settings = { strip = "-allowable_error" },
      tests = { { specimen = "P7", result = "5.0" },
        { specimen = "P7", performed_at = "2026-10-08 10:00", result = "9.0" } },
      finds = {}, judged = 0 },
  },
}
