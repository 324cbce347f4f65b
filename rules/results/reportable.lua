-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "results.reportable",
  title = "Results are written as the method can report them",
  severity = "at-risk",
  duty = "insert",
  basis = { "42 CFR 493.15(e)(1)" },
  on = "test",
  subject = { "record" },
  facts = { "result_number?", "result_below?", "result_above?", "word_allowed?", "other_unit", "reportable_low?",
    "reportable_high?" },
  finding = "each",
  check = function(number, below, above, word_allowed, other_unit, low, high)
    if word_allowed ~= nil then return word_allowed end
    if low == nil and high == nil then return nil end
    if number then return (low == nil or number >= low) and (high == nil or number <= high) end
    if other_unit then return nil end
    return below ~= nil and below == low or above ~= nil and above == high
  end,
  says = "{operator} recorded {result} for {record}; the method reports from {reportable_low} to " ..
    "{reportable_high}, beyond that as < or >, and its own words",
  remedy = "Look up what the analyzer showed and write exactly that, with a note. A result beyond the range is " ..
    "repeated or confirmed as the package insert says; the laboratory director reviews it.",
  examples = {
    { "a number above the range", tests = { { result = "14.7" } }, finds = { { record = "T1", tests = { "T1" } } },
      judged = 1 },
    { "at both ends of the range", tests = { { result = "14.6" }, { result = "4.2" }, { result = "4.20" } },
      finds = {}, judged = 3, met = 3 },
    { "a hair beyond", tests = { { result = "14.6000000000000000001" } }, finds = { {} } },
    { "beyond the range as the analyzer says it", tests = { { result = "<4.2" }, { result = ">14.6" } }, finds = {},
      met = 2 },
    { "beyond some other number", tests = { { result = ">14" } }, finds = { {} } },
    { "a word the method does not have",
      tests = { { analyzer = "B1", lot = "K1", code = "", result = "maybe", unit = "" } }, finds = { {} } },
    { "a number where the method has words alone", tests = {
        { analyzer = "B1", lot = "K1", code = "", result = "1", unit = "" },
        { analyzer = "B1", lot = "K1", code = "", result = ">1", unit = "" },
        { analyzer = "B1", lot = "K1", code = "", result = "negative", unit = "" } },
      finds = { { record = "T1" }, { record = "T2" } }, judged = 3, met = 1 },
    { "numbers that are the method's words", settings = { cassette = "words: [negative, 15, 40]" },
      tests = { { analyzer = "B1", lot = "K1", code = "", result = "15", unit = "" } }, finds = {}, met = 1 },
    { "converted before it is judged", tests = { { result = "53", unit = "mmol/mol" } }, finds = {}, met = 1 },
    { "< in another unit is not judged", tests = { { result = "<20", unit = "mmol/mol" } }, finds = {}, judged = 0 },
  },
}
