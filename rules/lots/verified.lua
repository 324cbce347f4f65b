-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "lots.verified",
  title = "A new lot is checked before patients are tested with it",
  by = "lot_check_by",
  basis = { "CLSI EP26 (from memory)", "the package insert or the site's policy, where they ask for it" },
  on = "test",
  subject = { "method", "lot" },
  facts = { "lot_received_on", "site_first_day", "lot_check_specimens", "lot_check_asked?", "lot_good_levels?" },
  check = function(received, first_day, specimens, asked, good_levels)
    if received < first_day then return nil end
    if asked then return specimens >= asked end
    return good_levels
  end,
  says = "{events:test} with lot {lot} before it was checked (specimens compared until then: {lot_check_specimens})",
  remedy = "Check the lot now as the method asks, and enter it in the lot_checks log. Until then use a checked " ..
    "lot. The laboratory director reviews the results listed if the check fails.",
  about = "Lots that came in before the site's earliest run are not judged. Where the method file has no " ..
    "lot_check, good controls of all levels on the lot are enough. A specimen counts if both results are numbers, " ..
    "or words of a method that has words; beyond the range nothing was compared.",
  examples = {
    { "two of three specimens",
      lots = { { lot = "S2", method = "strip", use = "reagent", received_on = "2026-10-02" } },
      lot_checks = { { new_lot = "S2", specimen = "V1" }, { new_lot = "S2", specimen = "V2" },
        { new_lot = "S2", specimen = "V2", checked_at = "2026-10-06 09:00" } },
      tests = { { performed_at = "2026-10-01 09:00" },
        { performed_at = "2026-10-08 09:00", lot = "S2", code = "42" } },
      finds = { { method = "strip", lot = "S2", tests = { "T2" } } }, judged = 1 },
    { "three of three, the last in the minute of the test",
      lots = { { lot = "S2", method = "strip", use = "reagent", received_on = "2026-10-02" } },
      lot_checks = { { new_lot = "S2", specimen = "V1" }, { new_lot = "S2", specimen = "V2" },
        { new_lot = "S2", specimen = "V3", checked_at = "2026-10-08 09:00" } },
      tests = { { performed_at = "2026-10-01 09:00" },
        { performed_at = "2026-10-08 09:00", lot = "S2", code = "42" } }, finds = {}, judged = 1, met = 1 },
    { "beyond the range, nothing was compared",
      lots = { { lot = "S2", method = "strip", use = "reagent", received_on = "2026-10-02" } },
      lot_checks = { { new_lot = "S2", specimen = "V1" }, { new_lot = "S2", specimen = "V2" },
        { new_lot = "S2", specimen = "V3", old_result = ">14.6", new_result = ">14.6" },
        { new_lot = "S2", specimen = "V4", old_result = "HI", new_result = "HI" } },
      tests = { { performed_at = "2026-10-01 09:00" },
        { performed_at = "2026-10-08 09:00", lot = "S2", code = "42" } }, finds = { { lot = "S2" } } },
    { "received on the day of the first run is new",
      lots = { { lot = "S1", method = "strip", use = "reagent", received_on = "2026-10-08" } },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = { { lot = "S1" } } },
    { "older than the records", tests = { {} }, finds = {}, judged = 0 },
    { "without a lot check, good controls of all levels", settings = { strip = "-lot_check" },
      lots = { { lot = "S1", method = "strip", use = "reagent", received_on = "2026-10-08" } },
      controls = { { performed_at = "2026-10-08 08:00", level = "low" },
        { performed_at = "2026-10-08 08:10", level = "high", result = "10.0" } },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = {}, judged = 1, met = 1 },
  },
}
