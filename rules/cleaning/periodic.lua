-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "cleaning.periodic",
  title = "Periodic cleaning is done when it is due",
  by = "cleaning_by",
  basis = { "42 CFR 493.15(e)(1), where the package insert asks for it", "the site's policy, where that does" },
  on = "task",
  subject = { "analyzer", detail = "task" },
  facts = { "day", "task_from", "task_days" },
  check = function(day, from, days)
    return day <= from + days
  end,
  says = "{events:run} on {analyzer} with the {task} cleaning overdue since {task_from} plus {task_days} days",
  remedy = "Do the cleaning now as the package insert says, and enter it with its task. The laboratory director " ..
    "reviews the tests listed.",
  examples = {
    { "the day after it was due", cleaning = { { cleaned_at = "2026-10-01 16:00", task = "weekly" } },
      tests = { { performed_at = "2026-10-09 09:00" } },
      finds = { { analyzer = "A1", detail = "weekly", tests = { "T1" } } }, judged = 1 },
    { "on the day it is due", cleaning = { { cleaned_at = "2026-10-01 16:00", task = "weekly" } },
      tests = { { performed_at = "2026-10-08 09:00" } }, finds = {}, judged = 1, met = 1 },
    { "cleaned in the minute of the run counts as before it",
      cleaning = { { cleaned_at = "2026-10-08 09:00", task = "weekly" } },
      tests = { { performed_at = "2026-10-08 09:00:10" } }, finds = {}, met = 1 },
    { "never: counted from the first day in service",
      analyzers = { { analyzer = "A1", method = "strip", in_service_on = "2026-10-02" } },
      tests = { { performed_at = "2026-10-09 09:00" }, { performed_at = "2026-10-10 09:00" } },
      finds = { { tests = { "T2" } } }, judged = 2 },
    { "the method has no periodic task",
      tests = { { analyzer = "G1", lot = "M1", code = "", result = "100", unit = "mg/dL" } }, finds = {},
      judged = 0 },
  },
}
