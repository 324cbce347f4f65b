-- SPDX-License-Identifier: GPL-3.0-or-later
-- The period's controls with a number, by analyzer, method, level and control lot, in the order of their first runs. A
-- group has method, analyzer, lot (the control lot), level, mean and sd (assigned, may be absent), results and places.
return function(site)
  local groups, order = {}, {}
  for run, place, analyzer, method, level, lot, number, bound in site.runs({ is_test = false, period = true },
    "place", "analyzer", "method", "level", "control_lot", "number", "bound") do
    if method and number and not bound then
      local key = analyzer .. "\31" .. method .. "\31" .. level .. "\31" .. lot
      local group = groups[key]
      if not group then
        group = { method = method, analyzer = analyzer, lot = lot, level = level, mean = run.mean, sd = run.sd,
          results = {}, places = {} }
        groups[key] = group
        table.insert(order, group)
      end
      local count = #group.places + 1
      group.results[count], group.places[count] = number, place
    end
  end
  return order
end
