-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "controls.failed-then-tested",
  title = "No patient is tested while the latest control of a level is out",
  severity = "at-risk",
  duty = "insert",
  basis = { "42 CFR 493.15(e)(1), where the package insert forbids it",
    "CAP: controls judged acceptable before patient results are released",
    "CDC, Good Laboratory Practices for Waived Testing Sites, MMWR 2005;54(RR-13) (from memory)" },
  on = "test",
  subject = { "analyzer", "method" },
  facts = { "latest_control_failed" },
  check = function(failed)
    return not failed
  end,
  says = "{events:test} on {analyzer} after a control failed and before it was good again",
  remedy = "Stop testing on this analyzer. Find the cause, run the control again, write down both. The laboratory " ..
    "director reviews the results listed.",
  examples = {
    { "tested after a failed control", controls = { { performed_at = "2026-10-08 08:00", result = "9.9" } },
      tests = { {} },
      finds = { { analyzer = "A1", method = "strip", tests = { "T1" } } }, judged = 1 },
    { "repeated and good",
      controls = { { performed_at = "2026-10-08 08:00", result = "9.9" }, { performed_at = "2026-10-08 08:10" } },
      tests = { {} },
      finds = {}, judged = 1, met = 1 },
    { "in the control's minute: the control comes first",
      controls = { { performed_at = "2026-10-08 09:00", result = "9.9" } },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = { { events = 1 } } },
    { "no control yet: nothing has failed", tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "a control without limits is neither",
      controls = { { performed_at = "2026-10-08 08:00", control_lot = "C9", result = "9.9" } }, tests = { {} },
      finds = {}, met = 1 },
    { "the method has no controls", settings = { strip = "-controls" }, tests = { {} }, finds = {}, judged = 0 },
  },
}
