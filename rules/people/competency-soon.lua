-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "people.competency-soon",
  title = "Assessments that will soon be due again",
  severity = "notice",
  duty = "accreditor",
  basis = { "CAP, waived tests: assessed yearly (2013 edition)", "The Joint Commission WT.03.01.01 (from memory)",
    "common practice, no source" },
  params = {
    days = { 30, unit = "days", meaning = "how long before its end an assessment is named" },
  },
  subject = { "operator", "method" },
  finding = "state",
  check = function(site)
    local function key(operator, method) return operator .. "\31" .. method end
    local trained, latest, passed, order, seen = {}, {}, {}, {}, {}
    for _, row in ipairs(site.records "training") do
      local who = key(row.operator, row.method)
      local same_day = latest[who] and latest[who].held_on == row.held_on
      if not same_day or row.outcome == "fail" then latest[who] = row end
      if row.outcome == "pass" then
        if row.event == "initial" then trained[who] = true end
        -- of two passes on one day the initial one counts, as in people.competency
        local other = passed[who]
        if not (other and other.held_on == row.held_on and other.event == "initial") then passed[who] = row end
      end
    end
    for _, operator, method in site.runs({ is_test = true, period = true }, "operator", "method") do
      local methods = seen[operator] or {} -- of this operator
      seen[operator] = methods
      if method and not methods[method] then
        methods[method] = true
        table.insert(order, { who = key(operator, method), operator = operator, method = method })
      end
    end
    for _, one in ipairs(order) do
      local pass = passed[one.who]
      local asked = site.setting(one.method, "competency.initial") ~= false
      if pass and latest[one.who].outcome == "pass" and (trained[one.who] or not asked) then
        local months = site.param("every_months", one.method, "people.competency")
        if pass.event == "initial" then
          months = site.param("first_year_months", one.method, "people.competency") or months
        end
        local last = add_months(pass.held_on, months)
        if last >= site.as_of then
          judge { ok = last > site.as_of + site.param "days", operator = one.operator, method = one.method,
            last = last, because = { pass } }
        end
      end
    end
  end,
  says = "The assessment of {operator} for {method} is good until {last:day}",
  remedy = "Set a day for the next assessment now, with someone who may assess. Enter it in the training log.",
  examples = {
    { "30 days left", training = { { held_on = "2025-11-30" } }, tests = { {} },
      finds = { { operator = "ann", method = "strip" } }, judged = 1 },
    { "31 days left", training = { { held_on = "2025-12-01" } }, tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "good for its last day", training = { { held_on = "2025-10-31" } }, tests = { {} },
      finds = { { operator = "ann" } } },
    { "already over: people.competency says so", training = { { held_on = "2025-10-30" } }, tests = { {} },
      finds = {}, judged = 0 },
    { "the latest failed: people.competency says so",
      training = { { held_on = "2025-11-10" }, { held_on = "2026-02-01", outcome = "fail" } }, tests = { {} },
      finds = {}, judged = 0 },
    { "on one day the worst counts", training = { { held_on = "2026-09-01", outcome = "fail" },
        { held_on = "2026-09-01", event = "retraining" } }, tests = { {} }, finds = {}, judged = 0 },
    { "the first year may be shorter",
      settings = { strip = "competency: {every_months: 12, first_year_months: 6}" },
      operators = { { operator = "cho", started_on = "2026-05-01" } },
      training = { { operator = "cho", event = "initial", held_on = "2026-05-20" } },
      tests = { { operator = "cho" } },
      finds = { { operator = "cho" } } },
    { "who tested nobody this month is not named", training = { { held_on = "2025-11-10" } },
      tests = { { operator = "ben", performed_at = "2026-09-30 09:00" } }, finds = {}, judged = 0 },
  },
}
