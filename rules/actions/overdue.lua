-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "actions.overdue",
  title = "Corrective actions are closed in time",
  severity = "practice",
  duty = "practice",
  basis = { "common practice, no source" },
  needs = "actions",
  params = {
    days = { 30, unit = "days", meaning = "how long an action may stay open" },
    -- Not asked here: the engine dates the findings on fix lists by them, from the first audit that found each.
    at_risk_days = { 2, unit = "days", meaning = "by when an at-risk finding is to be closed" },
    breach_days = { 7, unit = "days", meaning = "by when a breach is to be closed" },
    practice_days = { 30, unit = "days", meaning = "by when a finding of practice is to be closed" },
    notice_days = { 60, unit = "days", meaning = "by when a notice is to be seen to" },
  },
  subject = { "record" },
  finding = "state",
  check = function(site)
    for _, action in ipairs(site.records "actions") do
      local last = action.opened_on + site.param "days"
      if action.due_on and action.due_on < last then last = action.due_on end
      if not action.closed_on then
        judge { ok = site.as_of <= last, record = action.action, owner = action.owner, last = last,
          opened = action.opened_on,
          because = { action } }
      end
    end
  end,
  says = "Action {record}, opened on {opened:day}, should have been closed by {last:day}; {owner} sees to it",
  remedy = "Finish it, write down what was done (taken) and close it. If it cannot be done yet, write down why " ..
    "and by when.",
  examples = {
    { "the day after it was due", actions = { { due_on = "2026-10-30" } },
      finds = { { record = "CA-1", events = 1 } },
      judged = 1 },
    { "on the day it is due", actions = { { due_on = "2026-10-31" } }, finds = {}, judged = 1, met = 1 },
    { "open for 31 days", actions = { { opened_on = "2026-09-30" } }, finds = { { record = "CA-1" } } },
    { "open for 30 days", actions = { { opened_on = "2026-10-01" } }, finds = {}, met = 1 },
    { "due later, but open for too long", actions = { { opened_on = "2026-09-01", due_on = "2026-12-01" } },
      finds = { { record = "CA-1" } } },
    { "closed", actions = { { due_on = "2026-10-10", closed_on = "2026-10-20" } }, finds = {}, judged = 0 },
    { "closed after the day of the audit is still open",
      actions = { { due_on = "2026-10-10", closed_on = "2026-11-01" } }, finds = { { record = "CA-1" } } },
    { "opened after it is not known yet", actions = { { opened_on = "2026-11-01" } }, finds = {}, judged = 0 },
  },
}
