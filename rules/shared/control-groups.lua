-- SPDX-License-Identifier: GPL-3.0-or-later
-- The period's controls with a number, by analyzer, method, level and control lot, in the order of their first runs. A
-- group has method, analyzer, lot (the control lot), level, mean and sd (assigned, may be absent), results and places.
return function(site)
  local groups, order = {}, {}
  for run in site.runs { is_test = false, period = true } do
    if run.method and run.number and not run.bound then
      local key = table.concat({ run.analyzer, run.method, run.level, run.control_lot }, "\31")
      if not groups[key] then
        groups[key] = { method = run.method, analyzer = run.analyzer, lot = run.control_lot, level = run.level,
          mean = run.mean, sd = run.sd, results = {}, places = {} }
        table.insert(order, groups[key])
      end
      table.insert(groups[key].results, run.number)
      table.insert(groups[key].places, run.place)
    end
  end
  return order
end
