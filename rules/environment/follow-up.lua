-- SPDX-License-Identifier: GPL-3.0-or-later
local first_action = shared "first-action"
local inside = shared "reading-inside"
local limited_places = shared "limited-places"

return rule {
  id = "environment.follow-up",
  title = "Something is done, and written down, each time a place is outside its limits",
  severity = "practice",
  duty = "accreditor",
  basis = { "CDC, Good Laboratory Practices for Waived Testing Sites, MMWR 2005;54(RR-13) (from memory)",
    "accreditors' requirements on stored supplies (from memory)" },
  needs = "temperatures",
  params = { days = { unit = "days", meaning = "within which an action must be opened; not asked if nobody sets it" } },
  subject = { "detail" },
  finding = "each",
  check = function(site)
    local days, places, since, outside = site.param "days", limited_places(site), {}, {}
    if not days then return end
    for _, reading in ipairs(site.records "temperatures") do -- series of readings outside, place by place
      local place = places[reading.place]
      if place and inside(reading, place) then
        since[reading.place] = nil
      elseif place and since[reading.place] then
        table.insert(since[reading.place], reading)
      elseif place then
        since[reading.place] = { reading }
        table.insert(outside, since[reading.place])
      end
    end
    local action_for = first_action(site, "environment")
    for _, series in ipairs(outside) do
      local first = series[1]
      local day = day_of(first.read_at)
      local last = day + days
      local action = action_for(finding_number { detail = first.place, at = first.read_at }, day, last)
      if action or site.as_of > last then
        table.insert(series, action)
        judge { ok = action ~= nil, at = first.read_at, judged_on = action and action.opened_on or last + 1,
          detail = first.place, celsius = first.celsius, because = series }
      end
    end
  end,
  says = "{detail} was outside its limits from {from} ({celsius} °C), and no action was opened in time",
  remedy = "Open an action now, with `environment` as what it is about: what became of the supplies, who was asked, " ..
    "which controls were run, who sees to it.",
  about = "A series of readings outside the limits is one event, and begins with its first reading. Asked only " ..
    "where the site or program sets days.",
  examples = {
    { "nothing was done", settings = { site = "policy: {environment.follow-up: {days: 2}}" },
      temperatures = { { celsius = "9.5" }, { read_at = "2026-10-09 08:00", celsius = "9.1" } },
      finds = { { detail = "supply-fridge", from = "2026-10-08 08:00", tests = {} } }, judged = 1 },
    { "an action on the last day", settings = { site = "policy: {environment.follow-up: {days: 2}}" },
      temperatures = { { celsius = "9.5" } }, actions = { { opened_on = "2026-10-10", about = "environment.range" } },
      finds = {}, judged = 1, met = 1 },
    { "an action a day too late", settings = { site = "policy: {environment.follow-up: {days: 2}}" },
      temperatures = { { celsius = "9.5" } }, actions = { { opened_on = "2026-10-11", about = "environment" } },
      finds = { { detail = "supply-fridge" } } },
    { "an action about something else", settings = { site = "policy: {environment.follow-up: {days: 2}}" },
      temperatures = { { celsius = "9.5" } }, actions = { { about = "controls" } },
      finds = { { detail = "supply-fridge" } } },
    { "two series are two events", settings = { site = "policy: {environment.follow-up: {days: 0}}" },
      temperatures = { { celsius = "9.5" }, { read_at = "2026-10-09 08:00" },
        { read_at = "2026-10-10 08:00", celsius = "1.0" } },
      actions = { { opened_on = "2026-10-08", about = "environment" } },
      finds = { { from = "2026-10-10 08:00" } }, judged = 2, met = 1 },
    { "still time on the last day", to = "2026-10-10",
      settings = { site = "policy: {environment.follow-up: {days: 2}}" }, temperatures = { { celsius = "9.5" } },
      finds = {}, judged = 0 },
    { "at the limit is inside", settings = { site = "policy: {environment.follow-up: {days: 2}}" },
      temperatures = { { celsius = "8" } }, finds = {}, judged = 0 },
    { "not asked where nobody sets days", temperatures = { { celsius = "9.5" } }, finds = {}, judged = 0 },
  },
}
