-- SPDX-License-Identifier: GPL-3.0-or-later
-- When a record that a load changed happened: as fields for judge (`at` or `day`), and as a day. Kinds that say what
-- was there, not what happened, go by the day of the load; they have no day of their own.
local by_load = { operators = true, analyzers = true, lots = true, procedures = true, training = true }

return function(change)
  if not change.at or by_load[change.kind] then return { day = change.loaded_on }, nil end
  if not change.dated then return { at = change.at }, day_of(change.at) end
  local day = change.at // 86400
  return { day = day }, day
end
