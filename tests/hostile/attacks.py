# SPDX-License-Identifier: GPL-3.0-or-later
"""Rules that try to leave their box, as tables. tests/hostile/rules has more, each in a file of its own.

BREAKS: name, a word of the reason that must be told, and the text of a site rule's check.
AT_LOAD: the same, but what is run when the file is read, before the rule is given.
WHOLE: the same, but the fields of the rule.
HELD: what a file makes while it is read and its check then uses. SHARED: what lies beside it in shared/.
CONTAINED: what is allowed, and must leave all other rules as they are."""

BUDGET = 'ran longer than its budget of instructions'
MEMORY = 'used more than 64 MiB of memory'
KEPT = 'kept more than 1 MiB of memory'
HOLES = 'has holes'
PATTERN, CONTROL = '"1-3s"', '{ z = 1.0, day = 1, level = "a", lot = "l" }'


def far(value, last, filled=20000):
    """An expression: a list of which `#` says more than 2^last, though it holds few entries."""
    return (f'(function() local t, v = {{}}, {value} for i = 1, {filled} do t[i] = v end '
            f'for k = 0, {last} do t[1 << k] = v t[(1 << k) + 1] = v end return t end)()')


def emptied(row, fields, count):
    """An expression: examples whose lists have 1,000 times one row, which was long once, and has few cells."""
    return (f'(function() local row, rows, all = {row}, {{}}, {{}} for i = 1, 20000 do row[i] = true end '
            f'for i = 1, 20000 do row[i] = nil end for i = 1, 1000 do rows[i] = row end '
            f'for i = 1, {count} do all[i] = {{ "e", {fields} }} end return all end)()')


BREAKS = [
    ('records-spoiled', 'records cannot be written', 'for _, row in ipairs(site.records "lots") do row.colour = "red" end'),
    # Loops in all forms.
    ('goto-loop', BUDGET, '::a:: goto a'),
    ('repeat-loop', BUDGET, 'repeat until false'),
    ('for-loop', BUDGET, 'for i = 1, math.huge do end'),
    ('integer-overflow', BUDGET, 'local i = 1 while i ~= 0 do i = i + 2 end'),
    ('integer-limits', BUDGET, 'for i = math.tointeger(-2 ^ 63), 9223372036854775807 do end'),
    ('tail-calls', BUDGET, 'local function f() return f() end f()'),
    ('own-iterator', BUDGET, 'for x in function() return 1 end do end'),
    ('growing-list-walk', '', 'local t = { 1 } for i in ipairs(t) do t[i + 1] = 1 if i > 1000 then t[i - 999] = 1 end end'),
    ('gmatch-loop', BUDGET, 'while true do for w in ("a b"):gmatch("%a") do end end'),
    # Recursion.
    ('recursion', 'nested', 'local function f() return 1 + f() end f()'),
    ('recursion-through-gsub', '', 'local function f() return ("a"):gsub("a", f) end f()'),
    ('recursion-through-sort', '', 'local function f() table.sort({ 1, 2 }, f) end f()'),
    ('many-results', 'nested', 'local function f(n) return n, f(n + 1) end f(1)'),
    ('many-arguments', '', 'local function f(...) return f(1, ...) end f()'),
    ('arguments-in-circles', '', 'local function f(...) return ... end local t = {} for i = 1, 100000 do t[i] = i end '
     'while true do f(table.unpack(t)) end'),
    ('unpack-loop', '', 'while true do local n = select("#", table.unpack({}, 1, 900000)) end'),
    ('bytes-loop', '', 'local s = ("x"):rep(200000) while true do local n = select("#", s:byte(1, -1)) end'),
    # Work in C, where no instruction is counted.
    ('compare-long', '', 'local a = ("x"):rep(200000) local b = a .. "" local c = ("x"):rep(199999) .. "y" '
     'while true do local d = a == c end'),
    ('order-long', '', 'local a, b = ("x"):rep(200000) .. "a", ("x"):rep(200000) .. "b" while true do local d = a < b end'),
    ('order-of-nothing', '', 'local z = string.char(0):rep(100000) local a, b = z .. "a", z .. "b" '
     'while true do local d = a < b end'),
    ('keys-long', '', 'local a, b = ("x"):rep(200000) .. "a", ("x"):rep(200000) .. "a" local t = { [a] = 1 } '
     'while true do local d = t[b] end'),
    ('number-long', '', 'local a = ("0"):rep(200000) while true do local d = tonumber(a) end'),
    ('number-arithmetic-long', '', 'local a = ("0"):rep(200) while true do local d = a + 1 end'),
    ('sort-long', '', 'local s = ("x"):rep(4000) local t = {} for i = 1, 200000 do t[i] = i % 2 == 0 and s .. "a" or s .. "b" end '
     'while true do table.sort(t) end'),
    ('sort-many', '', 'local s, r = ("x"):rep(3000) .. "a", ("x"):rep(3000) .. "b" local t = {} '
     'while true do for i = 1, 200000 do t[i] = i % 2 == 0 and s or r end table.sort(t) end'),
    ('sort-without-order', '', 'while true do local t = {} for i = 1, 1000 do t[i] = i end '
     'table.sort(t, function() return true end) end'),
    ('sort-that-grows', '', 'local t = { 3, 2, 1 } table.sort(t, function(a, b) for i = 1, 1e9 do t[#t + 1] = i end end)'),
    ('emptied-table', '', 'local t = {} for i = 1, 2000000 do t[i] = 1 end for i = 1, 2000000 do t[i] = nil end '
     'while true do for k in pairs(t) do end end'),
    ('emptied-table-of-words', '', 'local t = {} for i = 1, 400000 do t["k" .. i] = 1 end for k in pairs(t) do t[k] = nil end '
     'while true do for k in pairs(t) do end end'),
    ('pairs-many', '', 'local t = {} for i = 1, 300000 do t["k" .. i] = 1 end while true do pairs(t) end'),
    ('table-made-anew', '', 'local t, n = {}, 1 << 18 for i = 1, n - 1 do t[i + 0.5] = 1 end '
     'local i = n while true do t[i + 0.5] = 1 t[i - n + 1.5] = nil i = i + 1 end'),
    ('insert-in-front', '', 'local t = {} while true do table.insert(t, 1, 1) end'),
    ('remove-in-front', '', 'local t = {} for i = 1, 1000000 do t[i] = i end while true do table.remove(t, 1) t[#t + 1] = 1 end'),
    ('list-without-holes', '', 'local t = {} for i = 1, 1000000 do t[i] = "x" end while true do table.concat(t) end'),
    ('garbage', '', 'local t = {} for i = 1, 500000 do t[i] = { i } end while true do local x = { {}, {}, {} } end'),
    ('upper-loop', '', 'local s = ("x"):rep(100000) while true do s = s:upper():lower():reverse() end'),
    ('format-wide', '', 'while true do ("%99.99f"):rep(1000):format(1e308) end'),
    ('format-loop', '', 'while true do local s = ("%99.99f"):format(1e308) end'),
    ('format-q', '', 'local s = ("\\n"):rep(60000) while true do ("%q"):format(s) end'),
    # Patterns.
    ('pattern-nested', '', '("a"):rep(2000):find(("a*"):rep(30) .. "b")'),
    ('pattern-balance', '', 'while true do ("("):rep(200000):find("%b()") end'),
    ('pattern-long', '', '("a"):rep(100000):find(("a?"):rep(100000))'),
    ('pattern-recursion', '', '("a"):rep(200000):match(("(a)"):rep(200000))'),
    ('pattern-deep', '', 'local s = ("a"):rep(250000) s:match("^" .. ("a-"):rep(3) .. "$")'),
    ('pattern-sets', '', 'local set = "[" .. ("x"):rep(100000) .. "]" while true do ("y"):rep(100000):find(set) end'),
    ('pattern-back-references', '', 'while true do ("a"):rep(100000):find("(a*)%1%1%1b") end'),
    ('pattern-frontier', '', 'local set = "%f[" .. ("x"):rep(100000) .. "]" while true do ("y"):rep(100000):find(set) end'),
    ('pattern-of-nothing', '', 'while true do ("y"):rep(100000):gsub("", "") end'),
    ('pattern-position', '', 'while true do ("y"):rep(100000):gsub("()", "%1%1%1%1%1%1") end'),
    ('plain-find', '', 'local s, p = ("a"):rep(200000), ("a"):rep(1000) .. "b" while true do s:find(p, 1, true) end'),
    ('pattern-of-dots', BUDGET, 'local s, p = ("a"):rep(262000), ("."):rep(30) .. "b" while true do s:find(p) end'),
    ('pattern-of-dots-short', BUDGET, 'local s, p = ("a"):rep(500), ("."):rep(30) .. "b" while true do s:find(p) end'),
    # Memory.
    ('strings-kept', '', 'local t = {} for i = 1, 1e9 do t[i] = ("x"):rep(1000) .. i end'),
    ('tables-kept', '', 'local t = {} for i = 1, 1e9 do t[i] = {} end'),
    ('closures-kept', '', 'local t = {} for i = 1, 1e9 do t[i] = function() return i end end'),
    ('keys-kept', '', 'local t = {} for i = 1, 1e9 do t["key" .. i] = i end'),
    ('chain-of-tables', '', 'local t = {} while true do t = { t } end'),
    ('upvalues-kept', '', 'local f = function() end while true do local g = f f = function() return g end end'),
    ('doubling', '', 'local s = "x" while true do s = s .. s end'),
    ('concat-separator', '', 'table.concat({ 1, 2, 3, 4, 5, 6, 7, 8 }, ("x"):rep(255000))'),
    ('concat-of-nothing', BUDGET, 'local t = {} for i = 1000001, 1010000 do t[i] = "" end '
     'for i = 1, 1e6 do table.concat(t, "", 1000001, 1010000) end'),
    ('replacement-of-nothing', BUDGET, 'local r = ("%0"):rep(120000) local s = ("x"):rep(250000):gsub("", r)'),
    ('numbers-of-findings', BUDGET, 'while true do finding_number { detail = "x", day = site.from } end'),
    ('table-of-a-size', '', 'local t = {} t[1] = 1 for i = 1, 40 do t[1 << i] = 1 end while true do t[#t + 1] = {} end'),
    # Doors.
    ('no-load', 'nil value', 'load("return 1")()'),
    ('no-require', 'nil value', 'require "os"'),
    ('no-io', 'nil value', 'io.open("/etc/passwd")'),
    ('no-os', 'nil value', 'os.execute("true")'),
    ('no-debug', 'nil value', 'debug.getregistry()'),
    ('no-dump', 'nil value', '("x").dump(function() end)'),
    ('no-coroutines', 'nil value', 'coroutine.wrap(function() end)()'),
    ('no-protected-call', 'nil value', 'xpcall(error, error)'),
    ('no-rawset', 'nil value', 'rawset(string, "rep", nil)'),
    ('no-metatables', 'nil value', 'setmetatable({}, { __gc = function() while true do end end })'),
    ('no-strings-metatable', 'nil value', 'getmetatable("").__index = {}'),
    ('no-collector', 'nil value', 'collectgarbage("stop")'),
    ('no-globals', 'nil value', '_G.string.rep = nil'),
    ('no-clock', 'nil value', 'os.time()'),
    ('no-chance', 'nil value', 'math.random()'),
    ('no-print', 'nil value', 'print("x")'),
    ('string-field', 'attempt to index a string', '("x").y = 1'),
    ('closing', 'variable \'x\' got a non-closable value', 'local x <close> = {}'),
    ('address-by-format', '%p', 'judge { ok = true, at = 0, record = ("%p"):format({}) }'),
    ('order-by-address', 'keys must be numbers or strings', 'for k in pairs { [{}] = 1, [function() end] = 2 } do end'),
    # Errors that are no text.
    ('error-table', 'no text', 'error({ __tostring = function() while true do end end })'),
    ('error-function', 'no text', 'error(function() end)'),
    ('error-nothing', 'no text', 'error()'),
    ('error-long', '', 'error(("x"):rep(250000))'),
    ('error-escapes', '', 'error("\\27[2J\\27]0;x\\7\\n\\n\\0\\255")'),
    ('error-format', '%s', 'error("%s%n%s%n%99999999d")'),
    # The host's own functions.
    ('judge-nothing', '', 'judge()'),
    ('judge-odd', '', 'judge { ok = {}, at = {}, record = {} }'),
    ('judge-itself', '', 'local t = {} t.t = t judge(t)'),
    ('judge-because', '', 'local t = {} for i = 1, 100000 do t[i] = i end while true do judge { ok = false, at = 1, record = "x", because = t } end'),
    ('judge-because-of-all', '', 'local t = {} for i = 1, 150000 do t[i] = { file = "", line = i } end '
     'while true do judge { ok = false, record = "x", because = t } end'),
    ('judge-long-subject', 'longer than 2,048 bytes', 'judge { ok = false, record = ("x"):rep(60000) }'),
    ('judge-far-places', '', 'judge { ok = false, at = 1, record = "x", because = { -1, 1 << 40, 0 / 0, "x" }, tests = { -1, 1 << 40 } }'),
    ('records-loop', '', 'while true do for _, r in ipairs(site.records "tests") do end end'),
    ('records-unknown', '', 'for r in site.records "sqlite_master" do end'),
    ('records-odd', '', 'site.records({})'),
    ('records-kept', '', 'local t = {} while true do for _, r in ipairs(site.records "temperatures") do t[#t + 1] = r end end'),
    ('setting-loop', '', 'while true do site.setting("glucose-strip", "controls.levels") end'),
    ('setting-path', '', 'while true do site.setting(("x."):rep(100000), ("x."):rep(100000)) end'),
    ('param-unknown', '', 'site.param "none"'),
    ('months-far', '', 'for i = 1, 100 do add_months(i, 1 << 62) end'),
    ('months-loop', BUDGET, 'while true do add_months(1, 12) end'),
    ('median-loop', '', 'local t = {} for i = 1, 500000 do t[i] = -i end while true do stats.median(t) end'),
    ('regression-bomb', '', 'local t, u = {}, {} for i = 1, 20000 do t[i], u[i] = i, i * i end stats.passing_bablok(t, u)'),
    ('interval-loop', '', 'while true do stats.wilson(12, 40) end'),
    ('interval-bomb', '', 'while true do stats.clopper_pearson(50000000, 100000000) end'),
    # Lists with holes, whose length Lua gives as any number.
    ('far-mean', HOLES, f'stats.mean({far(1.5, 61)})'),
    ('far-median', HOLES, f'stats.median({far(1.5, 40)})'),
    ('far-pairs', HOLES, f'local t = {far(1.5, 60)} stats.deming(t, t)'),
    ('far-patterns', HOLES, f'stats.multirule({{}}, {{}}, {far(PATTERN, 50)})'),
    ('filter-emptied', BUDGET, 'local t = { is_test = true } for i = 1, 260000 do t[i] = 1 end for i = 1, 260000 do t[i] = nil end '
     'for i = 1, 1000000 do site.runs(t) end'),
    ('filter-emptied-tests', BUDGET, 'local t = { is_test = true } for i = 1, 260000 do t[i] = 1 end '
     'for i = 1, 260000 do t[i] = nil end for i = 1, 1000000 do tests(t) end'),
    ('next-of-shelves', BUDGET, 'while true do next_daily_at(700) next_code_at(700) end'),
    ('tail-that-does-not-converge', '', 'error(tostring(stats.chi_square_lower(2 * (5e6 + 3000), 1e7)))'),
    ('tails-many', BUDGET, 'for i = 1, 1000000 do stats.chi_square_lower(994000, 1e6) end'),
    ('strings-as-numbers', 'arithmetic', 'local s = ("0." .. ("1"):rep(490)) while true do local x = s + s end'),
    ('strings-as-bits', 'string value', 'local s = "1." .. ("0"):rep(490) while true do local x = s | s end'),
    ('strings-to-numbers', BUDGET, 'local s = "0." .. ("1"):rep(480) .. "e-300" while true do local x = tonumber(s) end'),
    ('strings-in-lists', 'must hold numbers', 'local t = {} for i = 1, 600000 do t[i] = "0.1" end stats.mean(t)'),
    ('numbers-written', BUDGET, 'local a, f = 5e-324, tostring while true do f(a) end'),
    ('numbers-joined', BUDGET, 'local a = 5e-324 local t = {} for i = 1, 13000 do t[i] = a end while true do table.concat(t) end'),
    ('numbers-joined-by-dots', BUDGET, 'local a = 5e-324 while true do local s = a..a..a..a..a..a..a..a..a..a..a..a..a..a..a..a end'),
    ('multirule-patterns', 'more than 100 patterns', 'local t = {} for i = 1, 500000 do t[i] = "1-3s" end '
     'while true do stats.multirule({}, {}, t) end'),
    ('multirule-controls', 'more than 50000 controls', 'local c, t = { z = 4, day = 1, level = 1, lot = 1 }, {} '
     'for i = 1, 400000 do t[i] = c end stats.multirule(t, { 1 }, { "1-3s", "10-x" })'),
    ('gsub-of-numbers', BUDGET, 'local s, t = ("x"):rep(980), { [""] = 5e-324 } while true do s:gsub("", t) end'),
    ('multirule-of-strings', 'number expected', 'local c, t = { z = ("9"):rep(260000), day = ("0"):rep(260000), level = 1, lot = 1 }, {} '
     'for i = 1, 500 do t[i] = c end stats.multirule(t, { 1 }, { "1-3s" })'),
    ('lines-of-strings', 'number expected', 'local c, t = { file = "a", line = ("0"):rep(260000) .. "7" }, {} '
     'for i = 1, 500 do t[i] = c end judge { ok = false, day = site.from, record = "a", because = t }'),
    ('arithmetic-of-strings', BUDGET, 'local s = ("9"):rep(260000) while true do local x = math.max(s, s) end'),
    ('format-of-strings', BUDGET, 'while true do local x = ("%.99f"):format("1e308") end'),
    ('words-of-findings', BUDGET, 'local w = ("w"):rep(2000) for i = 1, 1000 do '
     'judge { ok = false, day = site.from, record = w .. i, a = w, analyzer = w, operator = w, lot = w, level = w } end'),
    ('gone-tests', BUDGET, 'for i = 1, 14000 do judge { ok = false, day = site.from, record = "r", gone_test = ("t"):rep(2000) .. i } end'),
    ('keys-on-one-place', 'more keys than there is need for', 'local t = {} for i = 1, 65536 do t[i * 131071] = 1 end t[0] = 1'),
    ('keys-on-one-place-few', '', 'local t = {} for i = 1, 16384 do t[i * 32767] = 1 end t[0] = 1 while true do local x = t[32767] end'),
    ('for-of-strings', '', 'local s = "0x" .. ("f"):rep(48000) while true do for i = 1, s do end end'),
    ('matches-behind-the-last', BUDGET, 'local it = string.gmatch(("a"):rep(1500), "a-b") while true do it() it() it() it() end'),
    ('matches-as-an-order', "the rule's own expected", 'table.sort({ 3, 2, 1 }, string.gmatch("aaa", "a-b"))'),
    ('keys-of-many-tables', '', 'local all = {} for k = 1, 20 do local t = {} for i = 1, 8192 do t[i * 16383] = 1 end all[k] = t end '
     'for k = 1, 20 do all[k][0] = 1 end while true do end'),
    ('order-in-c', "the rule's own expected", 'table.sort({ 3, 2, 1 }, stats.mean)'),
    ('replacement-in-c', "the rule's own expected", '("x"):gsub(".", string.rep)'),
    ('multirule-levels', 'more than 100 levels', 'local t, c = {}, {} for i = 1, 400000 do t[i] = i end '
     'for i = 1, 50000 do c[i] = { z = 0, day = i % 2, level = 1, lot = 1 } end stats.multirule(c, t, { "1-3s" })'),
    ('full-of-live-things', '', 'local t = {} for i = 1, 400000 do t[i] = { i } end while true do t[1] = { {}, {}, {} } end'),
    ('far-controls', HOLES, f'stats.multirule({far(CONTROL, 61)}, {{ "a" }}, {{}})'),
    ('far-sort', HOLES, f'table.sort({far(1, 57)}, function() while true do end end)'),
    ('far-sort-further', HOLES, f'table.sort({far(1, 59)}, function() while true do end end)'),
    ('far-concat', HOLES, f'table.concat({far(1, 61)})'),
    ('far-insert', HOLES, f'local t = {far(1, 61)} while true do table.insert(t, 1, 1) end'),
    ('far-append', HOLES, f'local t = {far(1, 61)} while true do table.insert(t, 1) end'),
    ('far-remove', HOLES, f'local t = {far(1, 61)} while true do table.remove(t) end'),
    ('far-unpack', HOLES, f'table.unpack({far(1, 61)})'),
    ('far-evidence', HOLES, f'judge {{ ok = false, at = 1, record = "x", because = {far(1, 60)} }}'),
    ('far-tests', HOLES, f'judge {{ ok = false, at = 1, record = "x", tests = {far(1, 62)} }}'),
    ('near-tests', '', f'local t = {far(0, 21)} while true do judge {{ ok = false, at = 1, record = "x", tests = t }} end'),
    ('months-of-no-number', 'out of range', 'add_months(20000, 0 / 0)'),
    ('statistics-of-odd-numbers', '', 'stats.median({ 0 / 0, math.huge, "x" })'),
]

AT_LOAD = [
    ('load-keys-on-one-place', 'more keys than there is need for', 'local t = {} for i = 1, 524288 do t[i * 1048575] = 1 end t[0] = 1'),
    ('load-loop', BUDGET, 'while true do end'),
    ('load-bomb', '', 'local t = {} for i = 1, 1e9 do t[i] = ("x"):rep(1000) .. i end'),
    ('load-recursion', '', 'local function f() return 1 + f() end f()'),
    ('load-error', 'no text', 'error({})'),
    ('load-nothing', '', 'do return end'),
    ('load-number', '', 'do return 5 end'),
    ('load-number-of-finding', 'check and affects only', 'if finding_number then finding_number { day = 20000 } end'),
    ('load-judge', 'check and affects only', 'if judge then judge { ok = false, day = 20000, record = "x" } end'),
    ('load-many-rules', '', 'for i = 1, 1e9 do rule { id = "x.y" } end'),
]

# The text of a file from its first byte, instead of a rule.
FILES = [
    ('file-empty', ''),
    ('file-of-nothing', '\0' * 1000),
    ('file-bytecode', '\x1bLua\x54\0\x19\x93\r\n\x1a\n'),
    ('file-nested', 'return ' + '(' * 100000 + ')' * 100000),
    ('file-nested-tables', 'return rule ' + '{' * 100000),
    ('file-nested-functions', 'return ' + 'function() return ' * 5000),
    ('file-many-locals', '\n'.join(f'local a{i} = {i}' for i in range(100000))),
    ('file-many-constants', 'return rule { ' + ', '.join(f'"c{i}"' for i in range(500000)) + ' }'),
    ('file-long-string', 'return rule { title = "' + 'x' * 3000000 + '" }'),
    ('file-many-ors', 'return ' + 'a or ' * 26000 + 'a'),
    ('file-long-line', 'x = 1 ' * 500000),
    ('file-concat', 'return ' + '"x" .. ' * 100000 + '"x"'),
    ('file-many-elses', 'if a then ' + 'elseif a then ' * 200000 + 'end'),
    # A thousand instructions in three calls, so that the one in which the clock is looked at is always the short one.
    ('file-keys-on-one-place-in-turns',
     'local t, n, M, m = {}, 0, 2047, 0\nfor i = 1, 2047 do t[i * M] = i end\nt[0] = 1\n'
     'return rule { id = "hostile.turns", title = "hostile", severity = "notice", duty = "practice", basis = { "none" }, on = "clause", '
     'facts = { "run", "clause" }, subject = { "analyzer" }, says = "hostile", remedy = "none", check = function(run, clause)\n'
     'n, m = n + 1, m + 1\nif m == 1 then local t, k, x = t, M * 5000 ' + 'x=t[k] ' * 900 + 'elseif m == 2 then local x ' + 'x=1 ' * 51 +
     'else m = 0 end return n > 1 end, examples = { { "none", finds = {} } } }'),
    ('file-encoding', 'return rule { title = "\xff\xfe" }'),
]

WHOLE = [
    ('long-for-each-failure', BUDGET, dict(on='"test"', finding='"each"', facts='{ "day" }', subject='{ "analyzer" }',
                                           check='function(day) return false end', says='"x"',
                                           affects='function(event) for i = 1, 9000000 do end return {} end',
                                           examples='{ { "a", tests = { {} }, finds = { {} } } }')),
    ('host-called-every-other-time', BUDGET, dict(on='"run"', facts='{ "run" }', subject='{ "analyzer" }', check='(function() local n = 0 '
                                                  'return function(run) n = n + 1 if n % 2 == 0 then for i = 1, 120 do tests() end end '
                                                  'return n > 1 end end)()')),
    ('told-and-kept', '65 MiB of memory', dict(
        says='("{a}x"):rep(64)', finding='"each"', check='function(site) local e = { ok = false, day = site.from, record = "r", a = true } '
        'for i = 1, 40000 do judge(e) end local kept = {} for i = 1, 1000 do local t = {} for j = 1, 2049 do t[j] = j end kept[i] = t end '
        'error("done") end')),
    ('record-where-no-run-is', "'record' is that of a run", dict(on='"day"', facts='{ "day" }', check='function(day) return false end')),
    ('source-with-nul', 'a NUL', dict(title='"a\\0b"')),
    ('source-with-nul-in-hexadecimals', 'a NUL', dict(title='"a\\x00b"')),
    ('source-with-nul-in-braces', 'a NUL', dict(title='"a\\u{00}b"')),
    ('field-unknown', 'is no field', dict(colour='"red"')),
    ('id-path', 'id', dict(id='"../../x"')),
    ('id-escapes', 'id', dict(id='"hostile.\\27[2J"')),
    ('says-unclosed', 'says', dict(says='"{day"')),
    ('says-long', 'says', dict(says='("{day}"):rep(100000)')),
    ('says-many', 'more than 64 placeholders', dict(says='("{day}"):rep(65)')),
    ('says-function', 'says', dict(says='function() while true do end end')),
    ('params-bomb', 'params', dict(params='(function() local t = {} for i = 1, 1e5 do t["p" .. i] = { i } end return t end)()')),
    ('params-odd', 'params', dict(params='{ days = { {}, unit = {}, meaning = function() end } }')),
    ('facts-unknown', 'facts', dict(on='"test"', facts='{ "password" }')),
    ('basis-far', 'basis', dict(basis=far('"x"', 60))),
    ('basis-less-far', 'basis', dict(basis=far('"x"', 59))),
    ('basis-of-many', 'basis', dict(basis='(function() local t = {} for i = 1, 100 do t[i] = ("x"):rep(900) end return t end)()')),
    ('check-in-c', 'check: must be a function', dict(check='string.gmatch(("a"):rep(480), "a-b")')),
    ('basis-long', 'basis', dict(basis='{ ("x"):rep(260000) }')),
    ('attribute-long', 'attribute', dict(on='"test"', finding='"day"', facts='{ "day" }', subject='{ "analyzer" }',
                                         attribute='{ ("x"):rep(260000) }', check='function() return false, ("x"):rep(260000) end')),
    ('params-text-long', 'params', dict(params='{ p = { ("y"):rep(260000), meaning = "x" } }')),
    ('words-far', 'params', dict(params=f'{{ words = {{ {far(1, 40)}, meaning = "x" }} }}')),
    ('words-many', 'params', dict(params='{ words = { (function() local t = {} for i = 1, 20000 do t[i] = 1 end return t end)(), '
                                         'meaning = "x" } }')),
    ('words-long', 'params', dict(params='{ words = { { ("x"):rep(200000) }, meaning = "x" } }')),
    ('sentence-of-marks', BUDGET, dict(on='"clause"', finding='"each"', facts='{ "at", "run" }', subject='{ "analyzer" }',
                                      says='("x\\u{202E}\\u{2066}"):rep(138)', check='function(at) return false end')),
    ('sentence-of-a-form', BUDGET, dict(on='"clause"', finding='"each"', facts='{ "at", "run" }', subject='{ "analyzer" }',
                                       says='"{events:" .. ("y "):rep(450) .. "}"', check='function(at) return false end')),
    ('sentence-of-placeholders', BUDGET, dict(on='"clause"', finding='"each"', facts='{ "at", "run" }', subject='{ "analyzer" }',
                                              params='{ p = { ("\\u{3B1}a"):rep(99), meaning = "x" } }', says='"{p}{p}{p}{p}"',
                                              check='function(at) return false end')),
    ('sentence-without-a-call', BUDGET, dict(on='"clause"', finding='"each"', facts='{ "method" }', subject='{ "analyzer" }',
                                             says='("x "):rep(490)', check='function(method) return false end')),
    ('gone-tests-long', BUDGET, dict(check='function(site) for i = 1, 400 do judge { ok = false, day = site.from, record = "r", '
                                     'gone_test = ("\\u{3B1}a"):rep(600) .. i } end end')),
    ('words-kept', KEPT, dict(on='"clause"', facts='{ "run", "clause", "p", "p", "p", "p", "p", "p", "p", "p" }', subject='{ "analyzer" }',
                             params='{ p = { { ("x "):rep(900) }, meaning = "x" } }', before='local kept\n',
                             check='function(run, clause, a, b) a[1], b[1], kept = kept, a, b return true end')),
    ('evidence-of-no-file', 'a record has no file', dict(check='function(site) judge { ok = false, record = "r", because = { { line = 2 } } } end')),
    ('evidence-of-no-line', 'no line has this number', dict(check='function(site) judge { ok = false, record = "r", '
                                                            'because = { { file = "records/tests.csv", line = -1 } } } end')),
    ('evidence-of-much', BUDGET, dict(finding='"each"', check='function(site) local l = {} for i = 1, 428 do l[i] = i end '
                                      'for k = 1, 1800 do judge { ok = false, day = site.from + k % 20, record = "r" .. k, because = l } end end')),
    ('count-without-end', 'count: must be between', dict(check='function(site) judge { ok = true, count = 1 << 62 } end')),
    ('gone-tests', BUDGET, dict(check='function(site) local e = { ok = false, day = site.from, record = "r", gone_test = "z" } '
                                'for i = 1, 300000 do judge(e) end end')),
    ('facts-far', 'facts', dict(on='"test"', facts=far('"day"', 60))),
    ('examples-far', 'examples', dict(examples=far('{ "e", finds = {} }', 50, 2000))),
    ('examples-many', 'examples', dict(examples='(function() local t = {} for i = 1, 20000 do t[i] = { "e", finds = {} } end '
                                                'return t end)()')),
    ('facts-many', 'facts', dict(on='"test"', facts='(function() local t = {} for i = 1, 1e5 do t[i] = "day" end return t end)()')),
    ('subject-many', 'subject', dict(subject='(function() local t = {} for i = 1, 1e5 do t[i] = "record" end return t end)()')),
    ('check-text', 'check', dict(check='"return true"')),
    ('affects-loop', BUDGET, dict(on='"test"', facts='{ "day", "analyzer" }', subject='{ "analyzer" }',
                                  check='function() return false end', affects='function() while true do end end')),
    ('affects-odd', '', dict(on='"test"', facts='{ "day", "analyzer" }', subject='{ "analyzer" }',
                             check='function() return false end', affects='function() return { {}, "x", -1, 1 << 40 } end')),
    ('answers-odd', '', dict(on='"test"', facts='{ "day" }', subject='{ "analyzer" }', check='function() return "yes" end')),
    ('run-rule-loop', BUDGET, dict(on='"test"', facts='{ "day" }', subject='{ "analyzer" }',
                                   check='function() while true do end end')),
    ('slow-at-each-run', BUDGET, dict(on='"run"', facts='{ "day", "at" }', subject='{ "analyzer" }',
                                      check='function() for i = 1, 1e9 do end end')),
]

CONTAINED = [
    ('records-changed', 'for _, row in ipairs(site.records "lots") do row.lot, row.expires_on = "spoilt", 0 end'),
    ('rep-of-nothing', '(""):rep(1 << 62)'),
    ('rep-of-nothing-with-nothing', '(""):rep(1 << 62, "")'),
    ('own-libraries-spoiled', 'string.rep, string.format, table.insert, math.floor, pairs, ipairs, tostring, error = nil'),
    ('hosts-functions-spoiled', 'judge, add_months, weekday, earlier, beyond, stats, rule, string, table, math = nil'),
    ('stats-spoiled', 'for name in pairs(stats) do stats[name] = function() return 0 end end'),
    ('strings-library-spoiled', 'for name in pairs(string) do string[name] = function() return "" end end'),
    ('strings-let-go', 'local t = {} for i = 1, 300000 do t[i] = "k" .. i end t = nil'),
    ('globals-left', 'leak = 1 day = 5 site_of = site'),
    ('just-below', 'for i = 1, 100000 do local x = i end'),
]

# Whole rules that are odd but do no harm: the audit goes on as if they were not there.
# Made while the file is read, and held by its functions: name, reason, before the rule, and the text of a site rule's check.
HELD = [
    ('held-number', BUDGET, 'local a = ("0"):rep(260000)', 'while true do local d = tonumber(a) end'),
    ('held-number-few', BUDGET, 'local a = ("0"):rep(260000)', 'for i = 1, 60000 do local d = tonumber(a) end'),
    ('held-strings', BUDGET, 'local a, b = ("x"):rep(260000), ("x"):rep(130000) b = b .. b',
     'for i = 1, 2000000 do local d = a == b end'),
    ('held-constants', BUDGET, f'local a, b = "{"x" * 20000}", ("x"):rep(10000) b = b .. b', 'while true do local d = a == b end'),
    ('held-key', BUDGET, 'local a, b = ("x"):rep(260000), ("x"):rep(130000) b = b .. b local t = { [a] = 1 }',
     'while true do local d = t[b] end'),
    ('held-emptied-table', BUDGET, 'local t = {} for i = 1, 20000 do t[i] = 1 end for i = 1, 20000 do t[i] = nil end',
     'while true do pairs(t) end'),
    ('held-emptied-filter', BUDGET, 'local t = {} for i = 1, 20000 do t[i] = 1 end for i = 1, 20000 do t[i] = nil end',
     'while true do site.runs(t) end'),
    ('held-memory', KEPT, 'local t = {} for i = 1, 100 do t[i] = ("x"):rep(200000) .. i end', 'local u = t[1]'),
    ('held-memory-of-a-check', KEPT, 'local t = {}', 'for i = 1, 100 do t[i] = ("x"):rep(200000) .. i end'),
]

# What lies in shared/ beside the rule: name, reason, the shared part's text, and the text of a site rule's check.
SHARED = [
    ('shared-long', '32 KiB', '--' + 'x' * 5000000 + '\nreturn 1', 'for i = 1, 20000 do shared "part" end'),
    ('shared-often', BUDGET, '--' + 'x' * 30000 + '\nreturn 1', 'for i = 1, 20000 do shared "part" end'),
    ('shared-jumps', BUDGET, 'local a a = a' + ' or a' * 6000 + '\nreturn 1', 'while true do shared "part" end'),
    ('shared-nul', 'a NUL', 'return "\\0"', 'local a = shared("part"):rep(100000) while true do local d = a < a end'),
]

# An honest rule beside, which must go on: name, reason, and what each does at each test, the honest one first.
NUMBERED = 'local n, kept = 0, {}'
THOUSAND_TEXTS = 'for i = n + 1, n < 16000 and n + 1000 or n do n = i kept[%s] = ("text"):rep(9) .. n end'
NEIGHBOURS = [
    ('texts-taken-over', KEPT, THOUSAND_TEXTS % 'n', THOUSAND_TEXTS % '1'),
]

HARMLESS = [
    ('says-of-much', dict(says='("{a}"):rep(64)', check='function(site) local a = ("xxx "):rep(50000) '
                          'for i = 1, 30 do judge { ok = false, record = "r" .. i, a = a } end end')),
    ('says-unknown', dict(says='"{nothing}"')),
    ('params-endless-number', dict(params='{ days = { 0 / 0, unit = "days", meaning = "x" } }')),
    ('example-far', dict(examples='{ { "e", without = ' + far('"tests"', 50) + ', finds = {} } }')),
    ('example-rows-far', dict(examples='{ { "e", tests = ' + far('{}', 50, 2000) + ', finds = {} } }')),
    ('example-refused-far', dict(examples='{ { "e", refused = ' + far('{}', 50, 2000) + ', finds = {} } }')),
    ('example-finds-far', dict(examples='{ { "e", finds = ' + far('{}', 50, 2000) + ' } }')),
    ('examples-emptied', dict(examples=emptied('{ test = "T1", note = "x" }', 'tests = rows, finds = {}', 10))),
    ('examples-emptied-finds', dict(examples=emptied('{ record = "x" }', 'finds = rows', 10))),
    ('examples-emptied-many', dict(examples=emptied('{ test = "T1", note = "x" }', 'tests = rows, finds = {}', 1000))),
    ('examples-of-both-cases', dict(examples='(function() local t = {} for i = 0, 4095 do t[("performed_at"):gsub("%a", function(c) '
                                             'i = i * 3 + 1 return i & 4 == 4 and c:upper() or c end)] = "x" end '
                                             'return { { "e", tests = { t }, finds = {} } } end)()')),
    ('examples-settings', dict(examples='{ { "e", settings = { site = ("k:\\n"):rep(20000) }, finds = {} } }')),
    ('examples-settings-many', dict(examples='(function() local e, t = { "e", settings = { site = ("k:\\n"):rep(90) }, finds = {} }, {} '
                                    'for i = 1, 1000 do t[i] = e end return t end)()')),
    ('examples-cells', dict(examples='(function() local r, c, t = {}, ("x"):rep(10000), {} r.test, r.note, r.lot, r.code = c, c, c, c '
                            'for i = 1, 1000 do t[i] = r end return { { "e", tests = t, finds = {} } } end)()')),
    ('examples-of-much', dict(examples='(function() local t, c = {}, ("x"):rep(262000) for i = 1, 1000 do t[i] = '
                                         '{ test = c, note = c, lot = c } end return { { "e", tests = t, finds = {} } } end)()')),
    ('examples-itself', dict(examples='(function() local t = {} t[1] = t return t end)()')),
]
