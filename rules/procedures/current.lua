-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "procedures.current",
  title = "Each method that is used has a written procedure, reviewed in time",
  severity = "practice",
  duty = "accreditor",
  basis = { "The Joint Commission WT.01.01.01 (from memory)", "CAP COM.10100 (from memory)" },
  needs = "procedures",
  params = {
    review_months = { 24, unit = "months", meaning = "how long a review lasts", method = "procedure_review_months" },
  },
  subject = { "method" },
  finding = "state",
  check = function(site)
    local first, latest, effective = {}, {}, {}
    for run, method in site.runs({ is_test = true, period = true }, "method") do
      if method and not first[method] then first[method] = { day = run.day, place = run.place } end
    end
    for _, row in ipairs(site.records "procedures") do -- in the order of effective_on
      local newest = latest[row.procedure]
      if newest and newest[1].effective_on == row.effective_on then
        table.insert(newest, row)
      else
        latest[row.procedure] = { row }
      end
      effective[row.method] = effective[row.method] or row.effective_on
    end
    for method, test in pairs(first) do
      local reviewed, because = false, { test.place }
      for _, rows in pairs(latest) do
        for _, row in ipairs(rows) do
          if row.method == method then
            local since = math.max(row.effective_on, row.reviewed_on or row.effective_on)
            reviewed = reviewed or site.as_of <= add_months(since, site.param("review_months", method))
            table.insert(because, row)
          end
        end
      end
      local in_force = effective[method] ~= nil and effective[method] <= test.day
      judge { ok = in_force and reviewed, method = method, because = because,
        why = not in_force and "no procedure was in force when it was first used this month"
          or "the latest revision has not been reviewed in time" }
    end
  end,
  says = "{method}: {why}",
  remedy = "Read the procedure against the package insert in use, correct it, have it approved, and enter the day " ..
    "(reviewed_on) in the procedures log.",
  examples = {
    { "no procedure", without = { "procedures" }, procedures = { { procedure = "other", method = "meter" } },
      tests = { {} }, finds = { { method = "strip", events = 1 } }, judged = 1 },
    { "reviewed in time", tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "reviewed exactly 24 months ago", procedures = { { reviewed_on = "2024-10-31" } }, tests = { {} },
      finds = {}, met = 1 },
    { "a day longer ago", procedures = { { reviewed_on = "2024-10-30" } }, tests = { {} },
      finds = { { method = "strip" } } },
    { "a new revision counts as a review",
      procedures = { { reviewed_on = "2024-01-01" }, { revision = "2", effective_on = "2026-05-01" } },
      tests = { {} },
      finds = {}, met = 1 },
    { "of two revisions the older one does not count",
      procedures = { { reviewed_on = "2026-10-01" }, { revision = "2", effective_on = "2024-07-01" } },
      tests = { {} },
      finds = { { method = "strip" } } },
    { "in force from the day of the first test", without = { "procedures" },
      procedures = { { effective_on = "2026-10-08" } }, tests = { {} }, finds = {}, met = 1 },
    { "in force from the day after", without = { "procedures" }, procedures = { { effective_on = "2026-10-09" } },
      tests = { {} }, finds = { { method = "strip" } } },
    { "no procedures log is kept", without = { "procedures" }, tests = { {} }, finds = {}, judged = 0 },
    { "a method nobody used", procedures = { { reviewed_on = "2020-01-01" } }, finds = {}, judged = 0 },
  },
}
