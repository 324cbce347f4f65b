-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "records.duplicate",
  title = "No test is in the log twice",
  severity = "practice",
  duty = "practice",
  basis = { "common practice, no source" },
  subject = { "record" },
  finding = "each",
  check = function(site)
    local minute, day, places = nil, nil, {} -- the tests of a minute
    local function settle()
      local groups, order = {}, {}
      for _, place in ipairs(places) do
        local test = site.run(place)
        local result = test.word or (test.bound or "") .. string.format("%.12g", test.number)
        local key = table.concat({ test.specimen, test.analyzer, result }, "\31")
        if not groups[key] then
          groups[key] = {}
          table.insert(order, groups[key])
        end
        table.insert(groups[key], place)
      end
      for _, group in ipairs(order) do
        local first, last = site.run(group[1]), site.run(group[#group])
        judge { ok = #group == 1, count = #group, at = first.at, to = last.at, record = first.specimen,
          key = first.test, first = first.test, last = last.test, analyzer = first.analyzer, tests = group,
          because = group }
      end
      places = {}
    end
    local function end_of_minute()
      if #places > 1 then
        settle()
      elseif places[1] then -- as in nearly all minutes
        met(day)
        places[1] = nil
      end
    end
    for _, place, at, its_day in site.runs({ is_test = true, period = true }, "place", "at", "day") do
      if at // 60 ~= minute then
        end_of_minute()
        minute, day = at // 60, its_day
      end
      places[#places + 1] = place
    end
    end_of_minute()
  end,
  says = "{record} was tested on {analyzer} at {from} with one and the same result under {tests:id}: {first} to " ..
    "{last}",
  remedy = "Look into the analyzer's memory: was it tested once or twice? Take the row out that is too many, and " ..
    "note on the other that it was there twice.",
  examples = {
    { "the same test under two ids", tests = { { specimen = "P7" }, { specimen = "P7" } },
      finds = { { record = "P7", events = 1, tests = { "T1", "T2" } } }, judged = 2, met = 0 },
    { "5.4 and 5.40 are one result",
      tests = { { specimen = "P7", result = "5.4" }, { specimen = "P7", result = "5.40" } },
      finds = { { record = "P7" } } },
    { "in one minute, whatever the seconds", tests = { { specimen = "P7", performed_at = "2026-10-08 09:00:59" },
        { specimen = "P7", performed_at = "2026-10-08 09:00" } }, finds = { { tests = { "T2", "T1" } } } },
    { "a minute apart", tests = { { specimen = "P7", performed_at = "2026-10-08 09:00:59" },
        { specimen = "P7", performed_at = "2026-10-08 09:01" } }, finds = {}, judged = 2, met = 2 },
    { "another result", tests = { { specimen = "P7", result = "5.4" }, { specimen = "P7", result = "5.5" } },
      finds = {}, met = 2 },
    { "two specimens", tests = { {}, {} }, finds = {}, met = 2 },
    { "controls are not judged", controls = { {}, { result = "5.1" } }, finds = {}, judged = 0 },
  },
}
