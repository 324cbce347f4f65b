-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "people.techniques",
  title = "Competency is assessed in more than one way",
  severity = "practice",
  duty = "accreditor",
  basis = { "The Joint Commission WT.03.01.01 (from memory)" },
  params = { techniques = { 2, meaning = "different ways of assessing", method = "competency.techniques" } },
  subject = { "operator", "method", "detail" },
  finding = "each",
  check = function(site)
    for _, row in ipairs(site.records "training") do
      if row.event == "competency" and row.outcome == "pass" then
        local different, count = {}, 0
        for _, technique in ipairs(row.techniques or {}) do
          if not different[technique] then count = count + 1 end
          different[technique] = true
        end
        local asked = site.param("techniques", row.method)
        judge { ok = count >= asked, day = row.held_on, operator = row.operator, method = row.method,
          detail = row.event, count_of = count, asked = asked, because = { row } }
      end
    end
  end,
  says = "{operator} was assessed for {method} on {from}; different ways: {count_of}, asked for: {asked}",
  remedy = "Assess in one more way: watch a test, give a blind sample, go through the controls, ask in writing or " ..
    "set a problem. Enter it in the training log.",
  examples = {
    { "one way", training = { { techniques = "observation" } },
      finds = { { operator = "ann", method = "strip", detail = "competency", from = "2026-10-01",
          to = "2026-10-01" } },
      judged = 1 },
    { "two ways", training = { { techniques = "observation;written" } }, finds = {}, judged = 1, met = 1 },
    { "the same way twice is one", training = { { techniques = "written; written" } }, finds = { { events = 1 } } },
    { "none written down", training = { { techniques = "" } }, finds = { { events = 1 } } },
    { "the method asks for one", settings = { strip = "competency: {techniques: 1}" },
      training = { { techniques = "observation" } }, finds = {}, met = 1 },
    { "a failed assessment asks for nothing", training = { { techniques = "", outcome = "fail" } },
      finds = {}, judged = 0 },
    { "nor does a first training", training = { { techniques = "", event = "initial" } }, finds = {}, judged = 0 },
    { "held in another month", training = { { techniques = "", held_on = "2026-09-30" } }, finds = {}, judged = 0 },
  },
}
