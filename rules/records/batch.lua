-- SPDX-License-Identifier: GPL-3.0-or-later
-- For the examples: a test a day from 8 October, all written on 20 October at these hours.
local function entered_at(...)
  local rows = {}
  for i, hour in ipairs { ... } do
    rows[i] = { performed_at = string.format("2026-10-%02d 09:00", 7 + i), recorded_at = "2026-10-20 " .. hour }
  end
  return rows
end

local MINUTE, SOON, DAY = 60, 12 * 3600, 24 * 3600

-- The entries of one log: when each was written, its testing day and its row; `order` sorts them by time, then as they
-- came. A batch that tells of more days than entries written soon after can holds one that was not; so only entries
-- written near such a one are looked at closer, and `near` says which spans of time those are.
local function new_entries() return { at = {}, day = {}, row = {}, order = {}, near = {} } end

-- The rows of the other logs, each once: its log, when it was written, what it tells of.
local function rows_of(site)
  local rows = { kind = {}, written = {}, at = {}, day = {}, row = {} }
  local function take(kind, written, at, row)
    local number = #rows.kind + 1
    rows.kind[number], rows.written[number], rows.at[number], rows.day[number], rows.row[number] =
      kind, written, at, day_of(at), row
  end
  for _, row in ipairs(site.records "cleaning") do
    if row.recorded_at then take("cleaning", row.recorded_at, row.cleaned_at, row) end
  end
  for _, row in ipairs(site.records "temperatures") do
    if row.recorded_at then take("temperatures", row.recorded_at, row.read_at, row) end
  end
  return rows
end

local function add(entries, at, day, row)
  local number = #entries.order + 1
  entries.at[number], entries.day[number], entries.row[number] = at, day, row
  entries.order[number] = math.tointeger(at) << 24 | number
end

local function judge_kind(site, kind, entries)
  local most_apart, least, least_days = site.param "minutes" * 60, site.param "entries", site.param "days"
  local at, day, order = entries.at, entries.day, entries.order
  local batches, first, on_day, days = {}, 1, {}, 0 -- entries of the last minutes: from `first`, on so many days
  table.sort(order)
  for last, packed in ipairs(order) do
    order[last] = packed & 0xffffff
    local here = day[order[last]]
    local count = (on_day[here] or 0) + 1
    on_day[here] = count
    if count == 1 then days = days + 1 end
    while at[order[last]] - at[order[first]] > most_apart do
      local gone = day[order[first]]
      on_day[gone], first = on_day[gone] - 1, first + 1
      if on_day[gone] == 0 then days = days - 1 end
    end
    if days >= least_days and last - first + 1 >= least then
      local batch = batches[#batches]
      if not (batch and batch.last >= first) then
        batch = { first = first }
        table.insert(batches, batch)
      end
      batch.last = last
    end
  end
  local next_alone = 1
  local function met_up_to(last)
    for i = next_alone, last do met(day[order[i]]) end
  end
  for _, batch in ipairs(batches) do
    met_up_to(batch.first - 1)
    next_alone = batch.last + 1
    local count, rows, seen, different, judged_on = 0, {}, {}, 0, nil
    for i = batch.first, batch.last do
      local here = day[order[i]]
      table.insert(rows, entries.row[order[i]])
      if not seen[here] then seen[here], different = true, different + 1 end
      if here >= site.from and here <= site.to then count, judged_on = count + 1, here end
    end
    if judged_on then
      judge { ok = false, count = count, at = at[order[batch.first]], to = at[order[batch.last]],
        judged_on = judged_on,
        detail = kind, number = #rows, days = different, because = rows }
    end
  end
  met_up_to(#order)
end

return rule {
  id = "records.batch",
  title = "Entries of several days are not written in one go",
  severity = "practice",
  duty = "practice",
  basis = { "common practice, no source" },
  params = {
    entries = { 5, meaning = "entries that make a batch" },
    minutes = { 10, unit = "min", meaning = "within which they were written" },
    days = { 3, unit = "days", meaning = "testing days that they tell of" },
  },
  subject = { "detail" },
  finding = "each",
  check = function(site)
    local kinds = { cleaning = new_entries(), controls = new_entries(), temperatures = new_entries(),
      tests = new_entries() }
    local bucket = math.max(site.param "minutes" * 60, 1)
    -- how many days at most a batch tells of that were all written soon after; seconds may be left out
    local on_time_days = (site.param "minutes" * 60 + MINUTE + SOON) // DAY + 2
    local all = site.param "days" <= on_time_days
    local rows, from, to = rows_of(site), site.from, site.to
    local any_near = all
    -- where all are looked at, none has to be marked
    local function late(written, at) return not all and (written < at - MINUTE or written > at + SOON) end
    local function mark_near(kind, written)
      local here, near = written // bucket, kinds[kind].near
      near[here - 1], near[here], near[here + 1] = true, true, true
      any_near = true
    end
    -- looks for late entries among runs; tells the first and last place, and from when to when they were written
    local function look_at_runs(filter)
      local first, last, since, upto = nil, nil, math.huge, -math.huge
      for run, written, at, place in site.runs(filter, "recorded_at", "at", "place") do
        first, last = first or place, place
        if written then
          if written < since then since = written end
          if written > upto then upto = written end
          if late(written, at) then mark_near(run.is_test and "tests" or "controls", written) end
        end
      end
      return first, last, since, upto
    end
    local first, last, since, upto = look_at_runs { period = true }
    for number, written in ipairs(rows.written) do
      if rows.day[number] >= from and rows.day[number] <= to then
        if written < since then since = written end
        if written > upto then upto = written end
      end
    end
    if since > upto then return end
    -- others can be of one batch with them only if they were written then, too: nobody writes for a day without an
    -- hour's rest
    local reaches_far = all or site.param "minutes" > 60
    since, upto = reaches_far and -math.huge or since - DAY, reaches_far and math.huge or upto + DAY
    local written_since, written_upto = not reaches_far and since or nil, not reaches_far and upto or nil
    for _, part in ipairs(first and { { before = first }, { after = last } } or { {} }) do
      part.written_since, part.written_upto = written_since, written_upto
      look_at_runs(part)
    end
    for number, written in ipairs(rows.written) do
      local at = rows.at[number]
      if late(written, at) and written >= since and written <= upto then
        mark_near(rows.kind[number], written)
      end
    end
    local function take(kind, written, day, row)
      if all or kinds[kind].near[written // bucket] then
        add(kinds[kind], written, day, row)
      elseif day >= from and day <= to then
        met(day)
      end
    end
    -- with nothing to look closer at, only the period's entries count
    for _, written, day, place, is_test in site.runs({ period = not any_near, written_since = written_since,
      written_upto = written_upto }, "recorded_at", "day", "place", "is_test") do
      if written then take(is_test and "tests" or "controls", written, day, place) end
    end
    for number, written in ipairs(rows.written) do
      if written >= since and written <= upto then
        take(rows.kind[number], written, rows.day[number], rows.row[number])
      end
    end
    for kind, entries in pairs(kinds) do judge_kind(site, kind, entries) end
  end,
  says = "{number} entries of {days} days in the {detail} log were written between {from} and {to:time}",
  remedy = "Ask where they were taken from, and note it on them; if from memory, say so. Write entries when " ..
    "things happen.",
  about = "Entries of one log that were written within minutes of each other but tell of several days.",
  examples = {
    { "five tests of three days within ten minutes", tests = entered_at("09:00", "09:01", "09:02", "09:09", "09:10"),
      finds = { { detail = "tests", from = "2026-10-20 09:00", to = "2026-10-20 09:10", events = 1, tests = {} } },
      judged = 5, met = 0 },
    { "eleven minutes", tests = entered_at("09:00", "09:01", "09:02", "09:09", "09:11"), finds = {}, judged = 5,
      met = 5 },
    { "four are too few", tests = entered_at("09:00", "09:01", "09:02", "09:09"), finds = {}, judged = 4, met = 4 },
    { "windows that share entries are one",
      tests = entered_at("09:00", "09:02", "09:04", "09:06", "09:08", "09:12", "09:14"),
      finds = { { from = "2026-10-20 09:00", to = "2026-10-20 09:14" } }, judged = 7, met = 0 },
    { "four of days before, ten minutes after one of the day itself",
      tests = { { performed_at = "2026-10-20 09:00", recorded_at = "2026-10-20 09:00" },
        table.unpack(entered_at("09:10", "09:10", "09:10", "09:10")) },
      finds = { { from = "2026-10-20 09:00", to = "2026-10-20 09:10" } }, judged = 5, met = 0 },
    { "four of days before, ten minutes before one of the day itself",
      tests = { { performed_at = "2026-10-20 09:10", recorded_at = "2026-10-20 09:10" },
        table.unpack(entered_at("09:00", "09:00", "09:00", "09:00")) },
      finds = { { from = "2026-10-20 09:00", to = "2026-10-20 09:10" } }, judged = 5, met = 0 },
    { "written before it happened",
      tests = { { performed_at = "2026-10-20 09:00", recorded_at = "2026-10-20 09:00" },
        { performed_at = "2026-10-21 09:00", recorded_at = "2026-10-20 09:00" },
        { performed_at = "2026-10-22 09:00", recorded_at = "2026-10-20 09:00" },
        { performed_at = "2026-10-23 09:00", recorded_at = "2026-10-20 09:00" },
        { performed_at = "2026-10-24 09:00", recorded_at = "2026-10-20 09:00" } },
      finds = { { from = "2026-10-20 09:00", to = "2026-10-20 09:00" } }, judged = 5, met = 0 },
    { "five of two days", tests = { entered_at("09:00")[1], entered_at("09:01")[1], entered_at("09:02")[1],
        entered_at("09:00", "09:03")[2], entered_at("09:00", "09:04")[2] }, finds = {}, judged = 5, met = 5 },
    { "tests and cleaning are counted apart", tests = entered_at("09:00", "09:01", "09:02"),
      cleaning = { { cleaned_at = "2026-10-01 16:00", recorded_at = "2026-10-20 09:00" },
        { cleaned_at = "2026-10-02 16:00", recorded_at = "2026-10-20 09:01" } }, finds = {}, judged = 5, met = 5 },
    { "one of its days in the month is enough", from = "2026-10-12", to = "2026-10-31",
      tests = entered_at("09:00", "09:01", "09:02", "09:03", "09:04"),
      finds = { { from = "2026-10-20 09:00", to = "2026-10-20 09:04" } }, judged = 1 },
    { "the log does not say when it was written", tests = { {}, {}, {}, {}, {} }, finds = {}, judged = 0 },
  },
}
