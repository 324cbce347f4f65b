-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "people.assessor",
  title = "People are assessed by someone else who is allowed to assess",
  severity = "practice",
  duty = "accreditor",
  basis = { "accreditors' waived testing requirements (from memory)", "CLSI QMS03 (from memory)" },
  subject = { "operator", "method", "detail" },
  finding = "each",
  check = function(site)
    local operators = {}
    for _, row in ipairs(site.records "operators") do operators[row.operator] = row end
    for _, row in ipairs(site.records "training") do
      local assessor = operators[row.assessor]
      local why = row.assessor == row.operator and "the same person"
        or not assessor and "not on the operators log"
        or not assessor.may_assess and "not marked as one who may assess"
      judge { ok = not why, day = row.held_on, operator = row.operator, method = row.method, detail = row.event,
        assessor = row.assessor, why = why or nil, because = { row, assessor } }
    end
  end,
  says = "{operator} was assessed for {method} on {from} by {assessor}: {why}",
  remedy = "Have the assessment repeated by someone who may assess, or put the assessor on the operators log as one " ..
    "who may, if that was so. Note which.",
  examples = {
    { "by oneself", training = { {} },
      finds = { { operator = "ann", method = "strip", detail = "competency", from = "2026-10-01",
          to = "2026-10-01" } },
      judged = 1 },
    { "by someone who may", training = { { operator = "ben" } }, finds = {}, judged = 1, met = 1 },
    { "by someone who may not", training = { { assessor = "ben" } }, finds = { { operator = "ann" } } },
    { "by someone nobody knows", training = { { operator = "ben", assessor = "zoe" } },
      finds = { { operator = "ben" } } },
    { "each kind of assessment counts, failed ones too",
      training = { { event = "retraining", outcome = "fail" }, { event = "initial" } },
      finds = { { detail = "initial" }, { detail = "retraining" } }, judged = 2 },
    { "held in another month", training = { { held_on = "2026-09-30" } }, finds = {}, judged = 0 },
  },
}
