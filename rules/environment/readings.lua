-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "environment.readings",
  title = "Temperatures are read on each open day",
  severity = "practice",
  duty = "practice",
  basis = { "CDC, Ready? Set? Test! (booklet): recording the temperatures of storage and testing areas",
    "common practice, no source" },
  needs = "temperatures",
  subject = { "detail" },
  check = function(site)
    local counts = {} -- by place and day
    for _, place in ipairs(site.places) do counts[place.place] = {} end
    for _, reading in ipairs(site.records "temperatures") do
      local count, day = counts[reading.place], day_of(reading.read_at)
      if count then count[day] = (count[day] or 0) + 1 end
    end
    for _, place in ipairs(site.places) do
      local asked, count, failing = place.readings_per_open_day, counts[place.place], false
      for day = asked and site.first_day or site.as_of + 1, site.as_of do
        if site.open_on(day) then
          local ok = (count[day] or 0) >= asked
          -- before the period a day that is in order only matters as the end of days that were not
          if not ok or failing or day >= site.from and day <= site.to then
            judge { ok = ok, day = day, detail = place.place, asked = asked, because = { place } }
          end
          failing = not ok
        end
      end
    end
  end,
  says = "{detail} was not read often enough on {events:open day}: {span}; asked for a day: {asked}",
  remedy = "Read it today. Note who reads each day, and who stands in. Do not enter past readings that nobody took.",
  examples = {
    { "no reading on an open day", from = "2026-10-08", to = "2026-10-09",
      tests = { {} },
      temperatures = { { read_at = "2026-10-08 08:00" }, { read_at = "2026-10-08 08:01", place = "test-room" },
        { read_at = "2026-10-09 08:01", place = "test-room" } },
      finds = { { detail = "supply-fridge", from = "2026-10-09", to = "2026-10-09", events = 1, tests = {} } },
      judged = 4, met = 3 },
    { "one is enough where one is asked for, at any hour", from = "2026-10-08", to = "2026-10-08", tests = { {} },
      temperatures = { { read_at = "2026-10-08 23:59" }, { read_at = "2026-10-08 00:00", place = "test-room" } },
      finds = {}, judged = 2, met = 2 },
    { "two are asked for", from = "2026-10-08", to = "2026-10-08", tests = { {} },
      settings = { site = "places: [{place: supply-fridge, readings_per_open_day: 2}]" },
      temperatures = { {} }, finds = { { detail = "supply-fridge" } }, judged = 1 },
    { "a weekend between breaks no streak", from = "2026-10-09", to = "2026-10-12", tests = { {} },
      settings = { site = "places: [{place: supply-fridge, readings_per_open_day: 1}]" },
      temperatures = { { read_at = "2026-10-08 08:00" } },
      finds = { { from = "2026-10-09", to = "2026-10-12", events = 2 } }, judged = 2 },
    { "closed for a holiday", from = "2026-10-09", to = "2026-10-09", tests = { {} },
      settings = { site = "closed_on: [2026-10-09]" }, temperatures = { { read_at = "2026-10-08 08:00" } },
      finds = {}, judged = 0 },
    { "before the first run of the site nobody need read", from = "2026-10-01", to = "2026-10-07",
      temperatures = { {} }, finds = {}, judged = 0 },
    { "no temperatures log is kept", without = { "temperatures" }, tests = { {} }, finds = {}, judged = 0 },
  },
}
