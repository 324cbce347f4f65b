-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "lots.chip-in-place",
  title = "The code a run shows is the one that the codes log says is in the analyzer",
  severity = "practice",
  duty = "practice",
  basis = { "common practice, no source" },
  on = "run",
  subject = { "analyzer" },
  facts = { "coded", "code", "code_in_place" },
  check = function(coded, code, in_place)
    if not coded then return nil end
    return code == in_place
  end,
  says = "{events:run} on {analyzer} with code {code}, while the codes log says {code_in_place}",
  remedy = "Read the code on the display. Correct the codes log with a note, or write down whose runs have the " ..
    "wrong code.",
  examples = {
    { "the log says another", codes = { { changed_at = "2026-10-08 08:00", analyzer = "A1", code = "42" } },
      tests = { {} },
      finds = { { analyzer = "A1", tests = { "T1" } } }, judged = 1 },
    { "the same", tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "changed in the minute of the run",
      codes = { { changed_at = "2026-10-08 09:00", analyzer = "A1", code = "42" } },
      tests = { { performed_at = "2026-10-08 09:00:30", code = "42" } }, finds = {}, met = 1 },
    { "changed a second later", codes = { { changed_at = "2026-10-08 09:00:31", analyzer = "A1", code = "42" } },
      tests = { { performed_at = "2026-10-08 09:00:30" } }, finds = {}, met = 1 },
    { "nothing on the log yet", without = { "codes" }, tests = { {} }, finds = {}, judged = 0 },
  },
}
