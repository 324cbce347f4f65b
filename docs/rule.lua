---@meta
-- SPDX-License-Identifier: GPL-3.0-or-later
-- What a rule file can use, for editors and readers. A rule file is one `return rule { … }`.
--
-- Values: a day is a whole number of days (days can be added and compared); a time is a number of seconds of the site's own
-- clock (the difference of two times is in seconds); a place is the number of a run on the site's time line. Absent is nil.
-- How a time was written (with or without seconds) is kept inside it: put two times in order with `earlier`, which goes by the
-- minute where either has no seconds.

---@class Rule
---@field id string theme.name, as the file's path
---@field title string what it asks, in plain words: the sentence that a report prints
---@field severity? "at-risk"|"breach"|"practice"|"notice"
---@field duty? "law"|"insert"|"policy"|"accreditor"|"practice" who asks for it
---@field by? string instead of severity and duty: the fact that names who asks; law and insert make a breach, the others practice (in a site rule write by = "judge" and give `by` to judge)
---@field basis string[] where it is written, or "common practice, no source"
---@field on? "run"|"test"|"control"|"clause"|"task"|"lot"|"day"|"entry"|"pair" the events it judges; absent: a site rule
---@field needs? string a kind of record: without its log the rule is not judged
---@field params? table<string, Param> numbers that a site may set; `facts` may name them like facts
---@field facts? string[] what `check` gets as arguments, in this order; an absent one makes the rule not apply, unless it is written "name?"
---@field subject table<integer|string, string> which of method, analyzer, operator, lot, level, record, detail a finding is about: { "analyzer", detail = "task" }; a field alone takes the fact of its name, `record` the run itself. Site rules only list fields.
---@field attribute? string[] values that `check` may return behind false, worst first: printed as detail, no part of the subject
---@field finding? "streak"|"each"|"state" a series of failing events (the default), each alone, or one judgement of a subject at the end
---@field from? string the fact with the place of the run that a finding begins at, if not the event itself
---@field affects? "failing"|"none"|fun(f: table): integer[] which tests must be looked at again; run rules: "failing" is the default
---@field check function run rules: answers true (met), false (failed) or nil (does not apply); site rules: check(site) calls judge
---@field says string one sentence with {names}: of facts at the first failing event, {events} {tests} {from} {to}, {span} ("2026-10-05 to 2026-10-07", or one day or time alone), subject fields, or what judge was given. {events:run} prints "1 run", "14 runs"; {tests:result}; {x:day} and {x:time} print a day or time that a site rule gave as a number
---@field remedy string what to do now and what to write down, for a nurse with no time
---@field about? string more words for `assize rules ID`, where the title does not say all
---@field examples Example[] run by `assize check-rules`

---@class Param
---@field [1] any the default; absent: the rule does not apply where nobody sets it
---@field unit? string
---@field meaning string
---@field method? string the key of a method file that goes before all: "competency.every_months"
---@field off? number the value that switches the rule off

---@class Example
---@field [1] string what it shows, as a sentence
---@field settings? table<string, string> lines that replace top keys of a settings file of the example site: { site = "menu: []", strip = "coding: none" }; "-key" takes a key out
---@field without? string[] kinds of record whose rows of the example site are left out (the log is then not kept, unless rows are given)
---@field from? string first day of the period, 2026-10-01 if absent
---@field to? string last day and as-of, 2026-10-31 if absent
---@field refused? table[] refused rows: { kind = "tests", file = "records/tests.csv", line = 7, reason = "…", at = "2026-10-08 09:00", analyzer = "A1", sequence = 12, to_end = true } (line 0: the file as a whole; to_end: nothing behind it could be read)
---@field changed? table[] what loads changed: { kind = "lots", key = "lots S1 strip reagent", withdrawn = true, at = "2026-10-07 09:12", loaded_on = "2026-10-08", noted = false, test = "T1" }
---@field finds table[] the findings expected, each with the fields that matter: { lot = "S1", from = "2026-10-08 09:00", events = 2, tests = { "T1" } }
---@field judged? integer
---@field met? integer
-- Any kind of record may stand in an example: tests = { { performed_at = "2026-10-08 09:00", result = "5.6" } }. A row with the
-- key of a row of the example site (rules/example-site) changes the cells it names; other rows are new, and what they leave
-- out is taken from rules/example-site/defaults.lua ("T#" there is the number of the row). "" makes a cell absent.

---@param r Rule
function rule(r) end

---Runs rules/shared/NAME.lua and gives what it returns: Lua that several rules use.
---@param name string
function shared(name) end

-- ---- in run rules and site rules -----------------------------------------------------------------------------------------

---Is `a` before `b`? By the minute where either was written without seconds.
---@param a number time
---@param b number time
---@return boolean
function earlier(a, b) end

---The testing day that a time lies in.
---@param time number
---@return integer day
function day_of(time) end

---The same day of a later month, clipped to the month's end.
---@param day integer
---@param months number
---@return integer day
function add_months(day, months) end

---@param day integer
---@return integer weekday 1 Monday … 7 Sunday
function weekday(day) end

---Patient tests on the time line, for `affects` and judge: all that fit every filter that is given, in order.
---@param filter { analyzer?: string, method?: string, lot?: string, operator?: string, specimen?: string, after?: integer, before?: integer, since?: number, upto?: number, later_than?: number, earlier_than?: number, written_since?: number, written_upto?: number, day?: integer, period?: boolean } after and before are places (neither counts); since (at or after) and upto (at or before), later_than and earlier_than are times of entries, a run in the entry's minute counting as at it; written_since and written_upto are of recorded_at (both count)
---@return integer[] places
function tests(filter) end

---Is a computed figure above its limit? Within 1e-9 of the limit it is not.
---@param x number
---@param limit number
---@return boolean
function beyond(x, limit) end

---The number that a finding of this rule with these fields has, for actions that name it.
---@param fields table
---@return string
function finding_number(fields) end

---Looking ahead from a run, for windows of affected tests.
---@param place integer
---@return integer? place of the next coded run of its analyzer and method on another known lot
function next_lot_change(place) end
---@param place integer
---@return number? time of the next codes entry of its analyzer with its lot's code
function next_code_at(place) end
---@param place integer
---@return number? time of the next daily cleaning of its analyzer, one in the run's minute included
function next_daily_at(place) end

-- ---- in site rules -------------------------------------------------------------------------------------------------------

---@class Site
---@field id string
---@field from integer first day of the period
---@field to integer last day of the period
---@field as_of integer day
---@field first_day? integer testing day of the site's earliest run
---@field certificate? { number?: string, issued_on?: integer, expires_on?: integer }
---@field changes { what: string, on: integer, notified_on?: integer }[]
---@field places { place: string, low?: number, high?: number, humidity_high?: number, readings_per_open_day?: number }[]
---@field menu string[]
---@field methods string[] names of all method files, in order
---@field files { file: string, kind?: string, rows: integer, refused?: string }[] the logs as of the latest load
---@field refusals { file: string, line: integer, kind?: string, reason: string, at?: number, analyzer?: string, sequence?: integer, to_end: boolean }[]
---@field amendments { kind: string, key: string, withdrawn: boolean, at?: number, loaded_on: integer, noted: boolean, test?: string }[]
local site = {}

---The records of a kind but tests and controls, in the order of their time: columns by name (ids, words and text as strings,
---dates as days, times, numbers; results as written, yes/no as booleans, lists of words as lists). Asking for a column that is not
---there is an error.
---@param kind string
---@return table[]
function site.records(kind) end

---Walks along the runs of the time line that fit the filter (as in `tests`, and is_test = true or false): `for run in site.runs{} do`.
---The same object each time, so keep run.place and not run. Fields: place, at, day, is_test, test, specimen, analyzer, method,
---operator, lot, code, unit, result, number (a plain number, in the method's unit), word, bound ("<" or ">", with number),
---sequence, recorded_at, collected_at, reported_at, notified_at, noted; controls: control_lot, level, accepted,
---failed (nil if not judged), within, mean, sd (of their lot and level), z.
---Fields named behind the filter come as further values of the loop, which is quicker where many runs are walked:
---`for run, day, lot in site.runs({ period = true }, "day", "lot") do`.
---@param filter? table
---@param ... string fields, 16 at most
---@return function
function site.runs(filter, ...) end

---The run at a place, with the fields above; a new object each call.
---@param place integer
---@return table
function site.run(place) end

---A key of a method file: number where it is one, list where it is one, true or false for yes/no, else string; nil if absent.
---@param method string
---@param key string "controls.levels"
function site.setting(method, key) end

---A parameter of this rule, as in force for a method (nil: for the site); or of another rule, by its id.
---@param name string
---@param method? string
---@param rule? string
function site.param(name, method, rule) end

---The method's allowable error at a value: the greater of percent and absolute; nil if it has none.
---@param method string
---@param value number
---@return number?
function site.allowable_error(method, value) end

---The method of a row without one: by its analyzer, as for runs.
---@param analyzer string
---@param day integer
---@return string?
function site.method_of(analyzer, day) end

---A number in one of the method's also_units, in the method's own unit; the number itself if the unit is the method's or nil; nil if it cannot be converted.
---@param method string
---@param unit string?
---@param number number
---@return number?
function site.convert(method, unit, number) end

---The control levels of a method.
---@param method string
---@return string[]
function site.levels(method) end

---@param kind string
---@return boolean is a log of the kind kept?
function site.kept(kind) end

---@param day integer
---@return boolean is the site open that day?
function site.open_on(day) end

---Splits a result as written.
---@param text string
---@return number? number, string? word, string? bound
function site.result(text) end

---Judges one event. `ok` false makes or lengthens a finding. `at` (a time) or `day` says when; a state rule gives neither.
---`count`: how many events this stands for, if not one. `key`: the event's key, for numbers of findings that would be shared.
---`gone_test`: the id of a test that was withdrawn, so that it has no place any more. `judged_on`: the day that decides whether it lies in the period, where that is another (obligations with a term). `to`: the end, where a
---finding covers a span. `because`: records (or places of runs) that are its evidence. Subject fields by name; other fields are for `says`.
---@param event { ok: boolean, at?: number, day?: integer, to?: number, judged_on?: integer, to_day?: integer, count?: integer, key?: string, tests?: integer[], gone_test?: string, because?: table, by?: string, attribute?: string, method?: string, analyzer?: string, operator?: string, lot?: string, level?: string, record?: string, detail?: string }
function judge(event) end

---Says that an event of a testing day was met: `judge { ok = true, day = day }` without a table, for many of them. Only in
---rules whose findings are events or states: a streak has to know what it is about.
---@param day integer
function met(day) end

-- ---- statistics ----------------------------------------------------------------------------------------------------------

---Pure functions, in run rules and site rules. A list too short, a divisor of 0 or anything else outside of what a function can
---answer gives nil (and a field that is not known is absent), so test before you calculate on. What is no number is an error.
---Shares and confidences are between 0 and 1, percents are out of 100; all else has the unit of the numbers given. Formulas,
---sources and limits stand in engine/stats/*.h. Long lists cost as much of the budget as the same work in Lua would.
stats = {}

-- one list
---@param xs number[] @return number? mean, from one number on
function stats.mean(xs) end
---@param xs number[] @return number? sd with n-1, from two numbers on
function stats.sd(xs) end
---@param xs number[] @return number? median, from one number on
function stats.median(xs) end
---Mean and SD that single wild results do not move (ISO 13528, Algorithm A, at most 200 steps); from two numbers on. The SD is 0
---where more than half of the numbers are the same.
---@param xs number[] @return number? mean, number? sd
function stats.robust(xs) end

-- figures of a method
---@param sd number @param mean number not 0 @return number? percent
function stats.cv_percent(sd, mean) end
---@param mean number @param assigned number not 0 @return number? percent of the assigned value, with its sign
function stats.bias_percent(mean, assigned) end
---Sigma metric, (allowable - |bias|) / sd; all three in one unit, percent or absolute, at one level.
---@param allowable number above 0 @param bias number @param sd number above 0 @return number? times the SD; negative where the bias alone is too much
function stats.sigma_metric(allowable, bias, sd) end
---The shift that brings 5 % of results over the limit: the sigma metric less 1.65.
---@param allowable number @param bias number @param sd number @return number? times the SD
function stats.critical_shift(allowable, bias, sd) end
---|bias| + 1.65 sd, in their unit.
---@param bias number @param sd number not below 0 @return number?
function stats.total_error(bias, sd) end

-- scores of one result: up to 2 is satisfactory, from 3 on unsatisfactory; En within 1
---@param result number @param assigned number @param sd number above 0 @return number? (result - assigned) / sd
function stats.z_score(result, assigned, sd) end
---@param result number @param assigned number @param sd number @param uncertainty number standard, of the assigned value @return number?
function stats.z_prime_score(result, assigned, sd, uncertainty) end
---@param result number @param assigned number @param result_uncertainty number expanded @param assigned_uncertainty number expanded @return number?
function stats.en_score(result, assigned, result_uncertainty, assigned_uncertainty) end

-- two methods, or two lots, on the same specimens: xs of the old one, ys of the new one, of the same length (else an error)
---Line of two methods that both have error.
---@param xs number[] @param ys number[] @param lambda? number variance of y's error by that of x's; 1 if absent @return number? slope, number? intercept in y's unit; from two pairs on
function stats.deming(xs, ys, lambda) end
---Passing-Bablok: line without assumptions about errors; 3 to 2,000 pairs (more are an error). With few pairs there are no intervals.
---@param xs number[] @param ys number[] @param confidence? number 0.95 if absent
---@return { slope: number, intercept?: number, slope_interval?: { low?: number, high?: number }, intercept_interval?: { low?: number, high?: number } }?
function stats.passing_bablok(xs, ys, confidence) end
---Bland-Altman: mean and SD of the differences x - y, and the limits bias ± multiple sd that most of them keep; from two pairs on.
---@param xs number[] @param ys number[] @param multiple? number 1.96 if absent @param confidence? number of the three intervals, 0.95 if absent
---@return { bias: number, sd: number, low: number, high: number, bias_interval: { low: number, high: number }, low_interval: { low: number, high: number }, high_interval: { low: number, high: number } }?
function stats.bland_altman(xs, ys, multiple, confidence) end
---@param a number[] @param b number[] @return number? p two-sided, normal, corrected for ties and continuity
function stats.mann_whitney(a, b) end

-- counts and shares
---Interval of a share, for figures in a report: `count` of `total`, whole numbers; nil if total is 0.
---@param count integer @param total integer @param confidence? number 0.95 if absent @return number? low, number? high shares
function stats.wilson(count, total, confidence) end
---The exact interval of a share, which never falls short of its confidence; total up to 100,000,000.
---@param count integer @param total integer @param confidence? number 0.95 if absent @return number? low, number? high shares
function stats.clopper_pearson(count, total, confidence) end
---Between which shares a site with `total` events lies if its true rate is `share`; each tail holds `tail`.
---@param share number @param total integer 1 to 100,000,000 @param tail? number 0.025 if absent; customary too: 0.001 @return number? low, number? high shares
function stats.funnel_limits(share, total, tail) end
---How many of `total` records to look at, so that one bad record at least shows up with this confidence if `share` of them are bad
---(hypergeometric, drawn without putting back).
---@param total integer 1 to 100,000,000 @param share number @param confidence? number 0.95 if absent @return integer? records; nil if share is 0
function stats.sample_size(total, share, confidence) end
---@param x number @param degrees number above 0 @return number? lower tail of the chi-square distribution
function stats.chi_square_lower(x, degrees) end

-- units and quantities
---A value in another unit: "%" (NGSP) and "mmol/mol" (IFCC) of HbA1c, "mg/dL" and "mmol/L" of glucose, "g/L" and "g/dL". Say the
---analyte (as in the method file) and glucose's factor is not taken for another substance. Results of runs are in the
---method's unit already: see run.number.
---@param value number @param from string @param to string @param analyte? string @return number? nil: the pair is not known
function stats.convert(value, from, to, analyte) end
---@param hba1c number NGSP % @return number mg/dL
function stats.estimated_average_glucose(hba1c) end
---@param hba1c number NGSP % @return number mmol/L
function stats.estimated_average_glucose_mmol(hba1c) end

-- controls
---The patterns of the multirule over an analyzer's and method's controls in the order of time.
---@param controls { z: number, level: string, lot: string, day: integer }[]
---@param levels string[] the method's
---@param patterns string[] "1-3s", "2-2s" …
---@return { pattern: string, across: boolean, begins: boolean, control: integer, first: integer }[] hits; control and first are places in the list
function stats.multirule(controls, levels, patterns) end
