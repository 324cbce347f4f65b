-- SPDX-License-Identifier: GPL-3.0-or-later
-- Not a rule: the word return is missing, and so is most of what a rule must say.
rule {
  id = "own.nothing",
}
