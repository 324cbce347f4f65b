-- SPDX-License-Identifier: GPL-3.0-or-later
-- The first action opened between two days that names a finding, or is about a theme or one of its rules. A large site
-- has many actions and much to ask about, so each is looked up by its day and not walked to.
return function(site, theme)
  local about_theme, by_finding = {}, {} -- both in the order of their days, as the log is
  for place, action in ipairs(site.records "actions") do
    local list = about_theme
    if not (action.about or ""):match("^" .. theme .. "%f[.%z]") then
      list = by_finding[action.finding or ""] or {}
      by_finding[action.finding or ""] = list
    end
    table.insert(list, { place = place, action = action })
  end
  local function first_of(list, day, last, fits)
    local low, high = 1, #list + 1
    while low < high do
      local middle = (low + high) // 2
      if list[middle].action.opened_on < day then low = middle + 1 else high = middle end
    end
    for i = low, #list do
      if list[i].action.opened_on > last then return nil end
      if not fits or fits(list[i].action) then return list[i] end
    end
  end
  return function(finding, day, last, fits)
    local one, other = first_of(about_theme, day, last, fits), first_of(by_finding[finding] or {}, day, last, fits)
    if not one or other and other.place < one.place then one = other end
    return one and one.action
  end
end
