-- SPDX-License-Identifier: GPL-3.0-or-later
-- Do two results surely lie as far apart as their numbers do, or farther? `<N` and `>N` are known by their N and bound.
return function(first, first_bound, second, second_bound)
  if first > second then first_bound, second_bound = second_bound, first_bound end
  return first_bound ~= ">" and second_bound ~= "<"
end
