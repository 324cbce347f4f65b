-- SPDX-License-Identifier: GPL-3.0-or-later
-- What a row of an example is if it does not say; "#" becomes the number of the row in the example.
return {
  operators = { started_on = "2024-01-08" },
  analyzers = { analyzer = "A1", method = "strip", in_service_on = "2024-06-03" },
  lots = { lot = "S1", method = "strip", use = "reagent", received_on = "2026-06-01", expires_on = "2027-06-30" },
  openings = { opened_on = "2026-09-01", lot = "S1", container = "#" },
  codes = { changed_at = "2026-10-01 07:00", analyzer = "A1", code = "31", operator = "ann" },
  tests = { test = "T#", performed_at = "2026-10-08 09:00", analyzer = "A1", operator = "ann", specimen = "P#",
    lot = "S1", code = "31", result = "5.6", unit = "%" },
  controls = { performed_at = "2026-10-08 08:00", analyzer = "A1", operator = "ann", control_lot = "C1",
    level = "low", lot = "S1", code = "31", result = "5.0", unit = "%" },
  cleaning = { cleaned_at = "2026-10-08 16:00", analyzer = "A1", task = "daily", operator = "ann" },
  training = { operator = "ann", method = "strip", event = "competency", held_on = "2026-10-01", assessor = "ann",
    outcome = "pass", techniques = "observation;written" },
  temperatures = { read_at = "2026-10-08 08:00", place = "supply-fridge", celsius = "5.0", operator = "ann" },
  maintenance = { done_at = "2026-10-08 07:00", analyzer = "A1", event = "repair", operator = "ann" },
  comparisons = { event = "round-1", sample = "#", analyzer = "A1", tested_at = "2026-10-08 09:00", operator = "ann",
    result = "6.0", target = "6.0", unit = "%" },
  lot_checks = { checked_at = "2026-10-05 09:00", analyzer = "A1", old_lot = "S1", new_lot = "S2", specimen = "V#",
    old_result = "6.0", new_result = "6.0", operator = "ann" },
  procedures = { procedure = "strip-procedure", method = "strip", revision = "1", effective_on = "2024-06-03" },
  actions = { action = "CA-#", opened_on = "2026-10-08", problem = "something was wrong", owner = "ann" },
}
