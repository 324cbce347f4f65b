-- SPDX-License-Identifier: GPL-3.0-or-later
-- Is a sample acceptable? By its own limits; without them by the method's allowable error about its target; a word must
-- be the target's. nil: nothing to judge by, or a unit that is not known, in which its numbers only seem near enough.
return function(site, row)
  local method = row.method or site.method_of(row.analyzer, day_of(row.tested_at))
  local function in_unit(number) return method and number and site.convert(method, row.unit, number) or number end
  local result, word, bound = site.result(row.result)
  local target, target_word, target_bound = site.result(row.target)
  if row.low or row.high then
    if word or bound then return false end
    local low, high = in_unit(row.low), in_unit(row.high)
    return (not low or in_unit(result) >= low) and (not high or in_unit(result) <= high)
  end
  if target_word or target_bound or word or bound then
    return word == target_word and bound == target_bound and result == target
  end
  local allowed = method and site.allowable_error(method, in_unit(target))
  if not allowed then return nil end
  if beyond(math.abs(in_unit(result) - in_unit(target)), allowed) then return false end
  -- The allowable error may be an amount of the method's unit: small numbers in some other unit must not pass by it.
  if not site.convert(method, row.unit, target) then return nil end
  return true
end
