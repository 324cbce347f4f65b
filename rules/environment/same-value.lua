-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "environment.same-value",
  title = "Temperatures vary as those do that were really read",
  severity = "practice",
  duty = "practice",
  basis = { "common practice, no source" },
  needs = "temperatures",
  params = { readings = {
    meaning = "how many readings in a row with one value look copied; not asked if nobody sets it" } },
  subject = { "detail" },
  finding = "each",
  check = function(site)
    local most, latest = site.param "readings", {}
    if not most then return end
    local function close(row)
      judge { ok = row.count < most, at = row.first.read_at, to = row.last.read_at, judged_on = row.judged_on,
        detail = row.first.place, celsius = row.first.celsius, number = row.count, because = { row.first, row.last } }
    end
    for _, reading in ipairs(site.records "temperatures") do
      local row = latest[reading.place]
      if row and row.first.celsius == reading.celsius then
        row.count, row.last = row.count + 1, reading
      else
        if row then close(row) end
        row = { first = reading, last = reading, count = 1 }
        latest[reading.place] = row
      end
      if row.count <= most then row.judged_on = day_of(reading.read_at) end
    end
    for _, row in pairs(latest) do close(row) end
  end,
  says = "{detail}: {number} readings in a row gave {celsius} °C, from {from} to {to}",
  remedy = "Read the thermometer now, and compare it with another one: it may stand still. If readings were copied, " ..
    "note it on them, and read it each day from now on.",
  about = "Readings of a place in a row with one and the same value are one event, judged on the day of the one " ..
    "that makes them too many. Asked only where the site or program sets readings.",
  examples = {
    { "four in a row", settings = { site = "policy: {environment.same-value: {readings: 4}}" },
      temperatures = { { read_at = "2026-10-05 08:00" }, { read_at = "2026-10-06 08:00" },
        { read_at = "2026-10-07 08:00", celsius = "5" }, { read_at = "2026-10-08 08:00" } },
      finds = { { detail = "supply-fridge", from = "2026-10-05 08:00", to = "2026-10-08 08:00", tests = {},
        says = "supply-fridge: 4 readings in a row gave 5 °C, from 2026-10-05 08:00 to 2026-10-08 08:00" } },
      judged = 1 },
    { "three are one too few", settings = { site = "policy: {environment.same-value: {readings: 4}}" },
      temperatures = { { read_at = "2026-10-05 08:00" }, { read_at = "2026-10-06 08:00" },
        { read_at = "2026-10-07 08:00" }, { read_at = "2026-10-08 08:00", celsius = "5.1" } },
      finds = {}, judged = 2, met = 2 },
    { "each place by itself", settings = { site = "policy: {environment.same-value: {readings: 2}}" },
      temperatures = { { read_at = "2026-10-05 08:00" },
        { read_at = "2026-10-05 08:01", place = "test-room", celsius = "21" },
        { read_at = "2026-10-06 08:00" }, { read_at = "2026-10-06 08:01", place = "test-room", celsius = "22" } },
      finds = { { detail = "supply-fridge" } }, judged = 3, met = 2 },
    { "judged in the month that holds the one too many", to = "2026-10-31",
      settings = { site = "policy: {environment.same-value: {readings: 2}}" },
      temperatures = { { read_at = "2026-09-29 08:00" }, { read_at = "2026-09-30 08:00" },
        { read_at = "2026-10-01 08:00" } },
      finds = {}, judged = 0 },
    { "not asked where nobody sets it", temperatures = { { read_at = "2026-10-05 08:00" },
        { read_at = "2026-10-06 08:00" }, { read_at = "2026-10-07 08:00" } }, finds = {}, judged = 0 },
  },
}
