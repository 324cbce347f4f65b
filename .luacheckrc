-- SPDX-License-Identifier: GPL-3.0-or-later
std = "lua54"
read_globals = { "rule" }
max_line_length = 120
