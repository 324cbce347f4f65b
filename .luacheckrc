-- SPDX-License-Identifier: GPL-3.0-or-later
std = "lua54"
-- What rule files can call; docs/rule.lua says what each does.
read_globals = {
  "rule", "shared", "judge", "met", "tests", "earlier", "day_of", "add_months", "weekday", "beyond", "finding_number",
  "next_lot_change", "next_code_at", "next_daily_at", "stats",
}
max_line_length = 120
