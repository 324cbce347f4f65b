-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "results.too-soon",
  title = "A specimen is taken before it is tested, a result reported after",
  severity = "at-risk",
  duty = "practice",
  basis = { "common practice, no source" },
  on = "test",
  subject = { "record" },
  facts = { "at", "collected_at?", "reported_at?" },
  finding = "each",
  check = function(at, collected, reported)
    if collected == nil and reported == nil then return nil end
    return not (reported and earlier(reported, at)) and not (collected and earlier(at, collected))
  end,
  says = "{record} was tested at {at}; taken: {collected_at}, reported: {reported_at}",
  remedy = "Find out which time is wrong and correct it with a note. If the times are right, it is not clear " ..
    "whose result this is: the laboratory director reviews it.",
  examples = {
    { "reported before it was tested",
      tests = { { performed_at = "2026-10-08 09:00", reported_at = "2026-10-08 08:59" } },
      finds = { { record = "T1", tests = { "T1" } } }, judged = 1 },
    { "taken after it was tested",
      tests = { { performed_at = "2026-10-08 09:00", collected_at = "2026-10-08 09:01" } }, finds = { {} } },
    { "all in one minute",
      tests = { { performed_at = "2026-10-08 09:00:30", collected_at = "2026-10-08 09:00",
          reported_at = "2026-10-08 09:00" } }, finds = {}, judged = 1, met = 1 },
    { "with seconds on both sides the second counts",
      tests = { { performed_at = "2026-10-08 09:00:30", reported_at = "2026-10-08 09:00:29" } }, finds = { {} } },
    { "no times to compare", tests = { {} }, finds = {}, judged = 0 },
  },
}
