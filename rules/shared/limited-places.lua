-- SPDX-License-Identifier: GPL-3.0-or-later
-- The site's places by name, without those to which site.yaml gives no limits: nothing can be inside or outside there.
return function(site)
  local places = {}
  for _, place in ipairs(site.places) do
    if place.low or place.high or place.humidity_high then places[place.place] = place end
  end
  return places
end
