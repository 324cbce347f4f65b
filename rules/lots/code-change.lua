-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "lots.code-change",
  title = "When a new strip lot is begun, its code is put in before the first run",
  severity = "breach",
  duty = "insert",
  basis = { "42 CFR 493.15(e)(1)" },
  on = "run",
  subject = { "analyzer", "lot" },
  facts = { "lot_changed", "code_changed" },
  finding = "each",
  check = function(changed, entered)
    if not changed then return nil end
    return entered
  end,
  affects = function(f)
    return tests { analyzer = f.analyzer, method = f.method, lot = f.lot, after = f.run - 1,
      before = next_lot_change(f.run), earlier_than = next_code_at(f.run) }
  end,
  says = "{analyzer} began lot {lot} at {from}; the codes log has no change to its code {lot_code} before",
  remedy = "Look at the display: is the lot's code in? Put it in if not, run controls, and enter the change in " ..
    "the codes log. The laboratory director reviews the results listed.",
  about = "Two runs that follow each other on lots with different codes need an entry in the codes log between " ..
    "them, at the latest in the minute of the second. Lots that share a code need none.",
  examples = {
    { "no entry between the lots",
      tests = { {}, { performed_at = "2026-10-08 10:00", lot = "S2", code = "42" },
        { performed_at = "2026-10-08 11:00", lot = "S2", code = "42" } },
      finds = { { analyzer = "A1", lot = "S2", from = "2026-10-08 10:00", tests = { "T2", "T3" } } }, judged = 1 },
    { "entered in time", codes = { { changed_at = "2026-10-08 09:30", analyzer = "A1", code = "42" } },
      tests = { {}, { performed_at = "2026-10-08 10:00", lot = "S2", code = "42" } }, finds = {}, judged = 1,
      met = 1 },
    { "entered in the minute of the new run",
      codes = { { changed_at = "2026-10-08 10:00", analyzer = "A1", code = "42" } },
      tests = { {}, { performed_at = "2026-10-08 10:00:05", lot = "S2", code = "42" } }, finds = {}, met = 1 },
    { "entered in the minute of the old run is before it",
      codes = { { changed_at = "2026-10-08 09:00", analyzer = "A1", code = "42" } },
      tests = { { performed_at = "2026-10-08 09:00" },
        { performed_at = "2026-10-08 10:00", lot = "S2", code = "42" } }, finds = { { lot = "S2" } } },
    { "up to the entry that comes late",
      codes = { { changed_at = "2026-10-08 10:30", analyzer = "A1", code = "42" } },
      tests = { {}, { performed_at = "2026-10-08 10:00", lot = "S2", code = "42" },
        { performed_at = "2026-10-08 11:00", lot = "S2", code = "42" } },
      finds = { { tests = { "T2" } } } },
    { "two lots that share a code", lots = { { lot = "S2", method = "strip", use = "reagent", code = "31" } },
      tests = { {}, { performed_at = "2026-10-08 10:00", lot = "S2", code = "31" } }, finds = {}, judged = 0 },
  },
}
