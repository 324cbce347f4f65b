-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "results.invalid",
  title = "An invalid test is run again, with a new cassette or strip",
  severity = "breach",
  duty = "insert",
  basis = { "42 CFR 493.15(e)(1), where the package insert asks for it" },
  on = "test",
  params = {
    hours = { unit = "h", meaning = "within which the specimen is tested again; not asked if nobody sets it" },
    word = { "invalid", meaning = "what the log says of a test that gave no result" },
  },
  subject = { "record" },
  facts = { "result_word", "word", "hours", "run", "at", "method", "specimen" },
  finding = "each",
  check = function(result, word, hours, run, at, method, specimen)
    if result ~= word then return nil end
    local again = tests { method = method, specimen = specimen, after = run, upto = at + hours * 3600 }
    return #again > 0
  end,
  says = "{record} was {result}, and the specimen was not tested again within {hours} hours",
  remedy = "Test again with a new cassette or strip, or take a new specimen. Nobody reports an invalid test as a " ..
    "result. If the next one is invalid too, run controls and call the maker. The laboratory director reviews " ..
    "what was reported.",
  about = "A second invalid test is judged in its turn. Asked only where the site or program sets hours.",
  examples = {
    { "never tested again", settings = { site = "policy: {results.invalid: {hours: 1}}" },
      tests = { { analyzer = "B1", lot = "K1", code = "", unit = "", result = "invalid" } },
      finds = { { record = "T1", from = "2026-10-08 09:00", tests = { "T1" } } }, judged = 1 },
    { "tested again exactly an hour later", settings = { site = "policy: {results.invalid: {hours: 1}}" },
      tests = { { analyzer = "B1", lot = "K1", code = "", unit = "", specimen = "P7", result = "invalid" },
        { analyzer = "B1", lot = "K1", code = "", unit = "", specimen = "P7", result = "negative",
          performed_at = "2026-10-08 10:00" } }, finds = {}, judged = 1, met = 1 },
    { "a minute too late", settings = { site = "policy: {results.invalid: {hours: 1}}" },
      tests = { { analyzer = "B1", lot = "K1", code = "", unit = "", specimen = "P7", result = "invalid" },
        { analyzer = "B1", lot = "K1", code = "", unit = "", specimen = "P7", result = "negative",
          performed_at = "2026-10-08 10:01" } }, finds = { { record = "T1" } }, judged = 1 },
    { "another specimen is no repeat", settings = { site = "policy: {results.invalid: {hours: 1}}" },
      tests = { { analyzer = "B1", lot = "K1", code = "", unit = "", result = "invalid" },
        { analyzer = "B1", lot = "K1", code = "", unit = "", result = "negative",
          performed_at = "2026-10-08 09:20" } }, finds = { { record = "T1" } } },
    { "a result that is a result", settings = { site = "policy: {results.invalid: {hours: 1}}" },
      tests = { { analyzer = "B1", lot = "K1", code = "", unit = "", result = "negative" }, {} }, finds = {},
      judged = 0 },
    { "not asked where nobody sets hours",
      tests = { { analyzer = "B1", lot = "K1", code = "", unit = "", result = "invalid" } }, finds = {}, judged = 0 },
  },
}
