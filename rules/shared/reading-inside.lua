-- SPDX-License-Identifier: GPL-3.0-or-later
-- Is a reading within the limits of its place in site.yaml? A limit that the place does not give is open.
return function(reading, place)
  local function within(value, low, high) return (not low or value >= low) and (not high or value <= high) end
  return within(reading.celsius, place.low, place.high)
    and within(reading.humidity or -math.huge, nil, place.humidity_high)
end
