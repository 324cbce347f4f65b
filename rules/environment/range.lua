-- SPDX-License-Identifier: GPL-3.0-or-later
local inside = shared "reading-inside"
local limited_places = shared "limited-places"

return rule {
  id = "environment.range",
  title = "Supplies are kept, and tests run, at the temperature and humidity that the insert asks for",
  severity = "at-risk",
  duty = "insert",
  basis = { "42 CFR 493.15(e)(1)" },
  needs = "temperatures",
  subject = { "detail" },
  check = function(site)
    local places, methods_at, last_inside, outside = limited_places(site), {}, {}, {}
    for name in pairs(places) do methods_at[name] = {} end
    for _, method in ipairs(site.methods) do
      local storage, room = site.setting(method, "storage"), site.setting(method, "room")
      if methods_at[storage or ""] then table.insert(methods_at[storage], method) end
      if room ~= storage and methods_at[room or ""] then table.insert(methods_at[room], method) end
    end
    -- What a series of readings outside puts in doubt is known at the next reading inside, or at the end.
    local function settle(name, next_inside)
      if not outside[name] then return end
      local affected = {}
      for _, method in ipairs(methods_at[name]) do
        local window = { method = method, since = last_inside[name], earlier_than = next_inside }
        for _, test in ipairs(tests(window)) do table.insert(affected, test) end
      end
      for _, reading in ipairs(outside[name]) do
        judge { ok = false, at = reading.read_at, detail = name, celsius = reading.celsius,
          humidity = reading.humidity and string.format(", humidity %.14g %%", reading.humidity) or "",
          tests = affected, because = { reading, places[name] } }
        affected = nil -- once is enough for the whole series
      end
      outside[name] = nil
    end
    for _, reading in ipairs(site.records "temperatures") do
      local place = places[reading.place]
      if place and inside(reading, place) then
        local day = day_of(reading.read_at)
        if day < site.from then outside[reading.place] = nil end -- what ended before the period is no finding of it
        local ends = outside[reading.place] ~= nil
        settle(reading.place, reading.read_at)
        -- before the period a reading inside only matters as the end of a series outside
        if ends or day >= site.from and day <= site.to then
          judge { ok = true, at = reading.read_at, detail = reading.place }
        end
        last_inside[reading.place] = reading.read_at
      elseif place then
        outside[reading.place] = outside[reading.place] or {}
        table.insert(outside[reading.place], reading)
      end
    end
    for _, place in ipairs(site.places) do settle(place.place) end
  end,
  says = "{detail} was outside its limits at {events:reading}, first at {from}: {celsius} °C{humidity}",
  remedy = "Set the supplies apart and ask their maker whether they can be used. Run controls before testing again. " ..
    "Write it down as an action. The laboratory director reviews the results listed.",
  about = "Affected are the tests of methods kept or run at the place, from the last reading within the limits to " ..
    "the next one.",
  examples = {
    { "too warm, and the tests between the readings inside",
      temperatures = { { read_at = "2026-10-07 08:00" }, { read_at = "2026-10-08 08:00", celsius = "8.1" },
        { read_at = "2026-10-09 08:00" } },
      tests = { { performed_at = "2026-10-07 07:59" }, { performed_at = "2026-10-07 08:00" },
        { performed_at = "2026-10-08 09:00" }, { performed_at = "2026-10-09 07:59" },
        { performed_at = "2026-10-09 08:00" } },
      finds = { { detail = "supply-fridge", from = "2026-10-08 08:00", to = "2026-10-08 08:00", events = 1,
        tests = { "T2", "T3", "T4" } } }, judged = 3, met = 2 },
    { "at its limit", temperatures = { { celsius = "8" }, { celsius = "2.0", read_at = "2026-10-09 08:00" } },
      finds = {}, judged = 2, met = 2 },
    { "too damp", temperatures = { { place = "test-room", celsius = "20", humidity = "80.1" } },
      finds = { { detail = "test-room" } } },
    { "two in a row are one finding; a reading inside ends it", temperatures = { { celsius = "1" },
        { celsius = "9", read_at = "2026-10-09 08:00" }, { read_at = "2026-10-10 08:00" },
        { celsius = "9", read_at = "2026-10-11 08:00" } },
      finds = { { from = "2026-10-08 08:00", to = "2026-10-09 08:00", events = 2 }, { from = "2026-10-11 08:00" } } },
    { "no reading inside before or after: no bound", temperatures = { { celsius = "9" } },
      tests = { { performed_at = "2026-08-01 09:00" }, { performed_at = "2026-10-30 09:00" } },
      finds = { { tests = { "T1", "T2" } } } },
    { "what ended before the period is no finding of it; what lasted into it is",
      temperatures = { { read_at = "2026-09-28 08:00", celsius = "9" }, { read_at = "2026-09-29 08:00" },
        { read_at = "2026-09-30 08:00", celsius = "9" }, { read_at = "2026-10-01 08:00", celsius = "9" },
        { read_at = "2026-10-02 08:00" } },
      tests = { { performed_at = "2026-09-28 09:00" }, { performed_at = "2026-09-30 09:00" } },
      finds = { { from = "2026-09-30 08:00", to = "2026-10-01 08:00", events = 2, tests = { "T2" } } }, judged = 2,
      met = 1 },
    { "in the minute of the reading the reading comes first",
      temperatures = { { read_at = "2026-10-08 09:00" }, { read_at = "2026-10-08 10:00", celsius = "9" },
        { read_at = "2026-10-08 11:00" } },
      tests = { { performed_at = "2026-10-08 09:00:30" }, { performed_at = "2026-10-08 11:00:30" } },
      finds = { { tests = { "T1" } } } },
    { "tests kept and run elsewhere are not touched", temperatures = { { celsius = "9" } },
      tests = { { analyzer = "G1", lot = "M1", code = "", result = "100", unit = "mg/dL" } },
      finds = { { tests = {} } } },
    { "a place that site.yaml does not name", temperatures = { { place = "attic", celsius = "50" } },
      finds = {}, judged = 0 },
    { "a place without limits is not judged", settings = { site = "places: [{place: supply-fridge}]" },
      temperatures = { { celsius = "50" } }, finds = {}, judged = 0 },
    { "no temperatures log is kept", without = { "temperatures" }, tests = { {} }, finds = {}, judged = 0 },
  },
}
