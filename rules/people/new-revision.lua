-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "people.new-revision",
  title = "Whoever tests by a changed procedure has been trained again",
  severity = "practice",
  duty = "practice",
  basis = { "CDC, Good Laboratory Practices for Waived Testing Sites, MMWR 2005;54(RR-13) (from memory)" },
  needs = "procedures",
  params = { days = { unit = "days",
      meaning = "how long before a revision takes effect its training may be held; not asked if nobody sets it" } },
  subject = { "operator", "method" },
  check = function(site)
    local days, changes, seen, passed = site.param "days", {}, {}, {}
    if not days then return end
    for _, row in ipairs(site.records "procedures") do -- in the order of effective_on
      if seen[row.procedure] then
        changes[row.method] = changes[row.method] or {}
        table.insert(changes[row.method], row)
      end
      seen[row.procedure] = true
    end
    for _, row in ipairs(site.records "training") do -- in the order of held_on
      local who = row.operator .. "\31" .. row.method
      passed[who] = passed[who] or {}
      if row.outcome == "pass" then table.insert(passed[who], row) end
    end
    for run in site.runs { is_test = true } do
      local change, training
      for _, row in ipairs(changes[run.method or ""] or {}) do
        if row.effective_on <= run.day then change = row end
      end
      for _, row in ipairs(change and passed[run.operator .. "\31" .. run.method] or {}) do
        if row.held_on <= run.day then training = row end
      end
      if change then
        judge { ok = training ~= nil and training.held_on >= change.effective_on - days, at = run.at,
          operator = run.operator, method = run.method, revision = change.revision, since = change.effective_on,
          because = { run.place, change, training } }
      end
    end
  end,
  affects = "none",
  says = "{operator} ran {events:test} with {method} by revision {revision} of its procedure, in effect since " ..
    "{since:day}, without training since",
  remedy = "Go through what changed with this person now, and enter it in the training log (retraining). Until then " ..
    "another operator tests.",
  about = "The first revision of a procedure is no change. Any passed entry of the training log counts. Asked only " ..
    "where the site or program sets days.",
  examples = {
    { "no training since", settings = { site = "policy: {people.new-revision: {days: 14}}" },
      procedures = { { revision = "2", effective_on = "2026-10-08" } }, tests = { {} },
      finds = { { operator = "ann", method = "strip", from = "2026-10-08 09:00", events = 1, tests = {} } },
      judged = 1 },
    { "trained exactly fourteen days before", settings = { site = "policy: {people.new-revision: {days: 14}}" },
      procedures = { { revision = "2", effective_on = "2026-10-08" } },
      training = { { event = "retraining", held_on = "2026-09-24" } }, tests = { {} }, finds = {}, judged = 1,
      met = 1 },
    { "fifteen days before", settings = { site = "policy: {people.new-revision: {days: 14}}" },
      procedures = { { revision = "2", effective_on = "2026-10-08" } },
      training = { { event = "retraining", held_on = "2026-09-23" } }, tests = { {} },
      finds = { { operator = "ann" } } },
    { "the training failed", settings = { site = "policy: {people.new-revision: {days: 14}}" },
      procedures = { { revision = "2", effective_on = "2026-10-08" } },
      training = { { event = "retraining", held_on = "2026-10-07", outcome = "fail" } }, tests = { {} },
      finds = { { operator = "ann" } } },
    { "trained between two tests", settings = { site = "policy: {people.new-revision: {days: 0}}" },
      procedures = { { revision = "2", effective_on = "2026-10-08" } },
      training = { { event = "retraining", held_on = "2026-10-09" } },
      tests = { {}, { performed_at = "2026-10-09 09:00" } }, finds = { { to = "2026-10-08 09:00", events = 1 } },
      judged = 2, met = 1 },
    { "the day before it takes effect", settings = { site = "policy: {people.new-revision: {days: 14}}" },
      procedures = { { revision = "2", effective_on = "2026-10-09" } }, tests = { {} }, finds = {}, judged = 0 },
    { "not asked where nobody sets days", procedures = { { revision = "2", effective_on = "2026-10-08" } },
      tests = { {} }, finds = {}, judged = 0 },
  },
}
