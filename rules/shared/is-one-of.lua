-- SPDX-License-Identifier: GPL-3.0-or-later
-- Is a word in a list? A site names methods so, of which a rule is asked.
return function(word, list)
  for _, one in ipairs(list) do
    if one == word then return true end
  end
  return false
end
