-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "people.two-places",
  title = "Nobody runs tests in two places at once",
  severity = "at-risk",
  duty = "practice",
  basis = { "ISO 15189:2022, 7.6 (from memory)", "common practice, no source" },
  on = "run",
  params = {
    across_seconds = { 0, unit = "s", meaning = "how long runs at two sites may overlap" },
    here_seconds = { unit = "s", meaning = "how long runs on two analyzers here may overlap; not asked if absent" },
  },
  subject = { "operator" },
  facts = { "two_analyzers", "overlap_across", "overlap_here", "across_seconds", "here_seconds?" },
  check = function(two_analyzers, across, here, most_across, most_here)
    if not two_analyzers then return nil end
    return across <= most_across and (most_here == nil or here <= most_here)
  end,
  says = "{operator} was in two places at once in {events:run}; the first overlaps by {overlap_across} s with a run "
    .. "at another site ({elsewhere}), by {overlap_here} s with one on another analyzer here",
  remedy = "Ask who really ran these. An id is for one person only: nobody lends it. Correct the log with a note. "
    .. "The laboratory director reviews the results listed.",
  about = "A run lasts from its method's run_seconds before the time in the log to that time.",
  examples = {
    { "on two analyzers of one site, a second too long",
      settings = { site = "policy: {people.two-places: {here_seconds: 4}}" },
      tests = {
        { performed_at = "2026-10-08 09:10:00" },
        { performed_at = "2026-10-08 09:09:55", analyzer = "G1", lot = "M1", code = "", result = "99", unit = "mg/dL" },
      },
      finds = { { operator = "ann", events = 2, tests = { "T1", "T2" }, says = "ann was in two places at once in 2 "
        .. "runs; the first overlaps by 0 s with a run at another site (none), by 8 s with one on another analyzer "
        .. "here" } },
      judged = 2 },
    { "exactly as long as is allowed",
      settings = { site = "policy: {people.two-places: {here_seconds: 8}}" },
      tests = {
        { performed_at = "2026-10-08 09:10:00" },
        { performed_at = "2026-10-08 09:09:55", analyzer = "G1", lot = "M1", code = "", result = "99", unit = "mg/dL" },
      },
      finds = {}, judged = 2, met = 2 },
    { "within one site nobody asks unless the policy does",
      tests = {
        { performed_at = "2026-10-08 09:10:00" },
        { performed_at = "2026-10-08 09:09:55", analyzer = "G1", lot = "M1", code = "", result = "99", unit = "mg/dL" },
      },
      finds = {}, judged = 2, met = 2 },
    { "one after the other",
      settings = { site = "policy: {people.two-places: {here_seconds: 0}}" },
      tests = {
        { performed_at = "2026-10-08 09:10:00" },
        { performed_at = "2026-10-08 09:10:08", analyzer = "G1", lot = "M1", code = "", result = "99", unit = "mg/dL" },
      },
      finds = {}, judged = 2, met = 2 },
    { "an operator of one analyzer only", tests = { {}, {} }, finds = {}, judged = 0 },
  },
}
