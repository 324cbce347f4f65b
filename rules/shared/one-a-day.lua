-- SPDX-License-Identifier: GPL-3.0-or-later
-- For examples: rows of the example site's low control with these results, one a day from 1 October 2026.
return function(results)
  local rows = {}
  for day, result in ipairs(results) do
    rows[day] = { performed_at = string.format("2026-10-%02d 08:00", day), result = result }
  end
  return rows
end
