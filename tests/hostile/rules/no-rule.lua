-- SPDX-License-Identifier: GPL-3.0-or-later
-- A file that is no rule.
return { "nothing" }
