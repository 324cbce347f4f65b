-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "actions.verified",
  title = "Someone other than its owner sees that a closed action worked",
  severity = "practice",
  duty = "practice",
  basis = { "CLSI QMS11 (from memory)", "ISO 15189:2022, 8.7 (from memory)" },
  needs = "actions",
  subject = { "record" },
  finding = "each",
  check = function(site)
    for _, action in ipairs(site.records "actions") do
      if action.closed_on then
        local by = action.verified_by
        local by_another = by and by:find "[%w\128-\255]" and by:lower() ~= action.owner:lower()
        local early = action.closed_on < action.opened_on and ", before it was opened" or ""
        judge { ok = by_another and early == "" or false, day = action.closed_on, record = action.action,
          owner = action.owner, verified = by or "nobody", early = early, because = { action } }
      end
    end
  end,
  says = "Action {record} was closed on {from}{early}; its owner is {owner}, it was verified by {verified}",
  remedy = "Ask someone other than the owner to look whether the problem is gone. Enter that person's name " ..
    "(verified_by). Mend days that cannot be.",
  examples = {
    { "verified by nobody", actions = { { closed_on = "2026-10-20" } },
      finds = { { record = "CA-1", from = "2026-10-20", to = "2026-10-20" } }, judged = 1 },
    { "verified by its owner", actions = { { closed_on = "2026-10-20", verified_by = "ann" } },
      finds = { { record = "CA-1" } } },
    { "verified by its owner, written otherwise", actions = { { closed_on = "2026-10-20", verified_by = "Ann" } },
      finds = { { record = "CA-1" } } },
    { "verified by a dash", actions = { { closed_on = "2026-10-20", verified_by = "-" } },
      finds = { { record = "CA-1" } } },
    { "verified by a name of other letters", actions = { { closed_on = "2026-10-20", verified_by = "Łó" } },
      finds = {}, met = 1 },
    { "closed before it was opened",
      actions = { { opened_on = "2026-10-08", closed_on = "2026-10-07", verified_by = "ben" } },
      finds = { { record = "CA-1" } } },
    { "closed on its first day",
      actions = { { opened_on = "2026-10-08", closed_on = "2026-10-08", verified_by = "ben" } },
      finds = {}, judged = 1, met = 1 },
    { "verified by someone else", actions = { { closed_on = "2026-10-20", verified_by = "ben" } },
      finds = {}, judged = 1, met = 1 },
    { "closed on the first and on the last day of the month",
      actions = { { opened_on = "2026-09-20", closed_on = "2026-10-01" }, { closed_on = "2026-10-31" } },
      finds = { { record = "CA-1" }, { record = "CA-2" } } },
    { "closed in another month", actions = { { opened_on = "2026-09-20", closed_on = "2026-09-30" } },
      finds = {}, judged = 0 },
    { "still open", actions = { {} }, finds = {}, judged = 0 },
  },
}
