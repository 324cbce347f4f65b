-- SPDX-License-Identifier: GPL-3.0-or-later
-- Is a sample acceptable? By its own limits; a side that is not given, and both where none is, by the method's
-- allowable error about its target; a word must be the target's. nil: nothing to judge by, or a unit that is not known,
-- in which its numbers only seem near enough.
return function(site, row)
  local method = row.method or site.method_of(row.analyzer, day_of(row.tested_at))
  local function in_unit(number) return method and number and site.convert(method, row.unit, number) or number end
  local result, word, bound = site.result(row.result)
  local target, target_word, target_bound = site.result(row.target)
  local limited = row.low or row.high
  if limited and (word or bound) then return false end
  if limited then
    local low, high = in_unit(row.low), in_unit(row.high)
    if low and in_unit(result) < low or high and in_unit(result) > high then return false end
    if low and high or not target or target_bound then return true end
  elseif target_word or target_bound or word or bound then
    return word == target_word and bound == target_bound and result == target
  end
  local allowed = method and site.allowable_error(method, in_unit(target))
  if not allowed then return limited and true or nil end
  local off = in_unit(result) - in_unit(target)
  if row.low then off = math.max(off, 0) elseif row.high then off = math.min(off, 0) end
  if beyond(math.abs(off), allowed) then return false end
  -- The allowable error may be an amount of the method's unit: small numbers in some other unit must not pass by it.
  if not site.convert(method, row.unit, target) then return nil end
  return true
end
