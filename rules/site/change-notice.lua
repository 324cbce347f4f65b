-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "site.change-notice",
  title = "A change of owner, name, location or director is notified within 30 days",
  severity = "breach",
  duty = "law",
  basis = { "42 CFR 493.39(b)" },
  params = { days = { 30, unit = "days", meaning = "within which the change must be notified" } },
  subject = { "detail" },
  finding = "each",
  check = function(site)
    local days = site.param "days"
    for _, change in ipairs(site.changes) do
      local last, told = change.on + days, change.notified_on
      if told and told > site.as_of then told = nil end
      local ok = told ~= nil and told <= last
      if change.on <= site.as_of and (ok or site.as_of > last) then
        judge { ok = ok, day = change.on, judged_on = ok and told or last + 1, detail = change.what,
          because = { change } }
      end
    end
  end,
  says = "The change of {detail} on {from} was not notified in time",
  remedy = "Tell the State agency now, in writing. Put the day into site.yaml (notified_on) and keep a copy of " ..
    "the letter.",
  examples = {
    { "notified on day 31",
      settings = { site = "changes: [{what: director, on: 2026-09-01, notified_on: 2026-10-02}]" },
      finds = { { detail = "director", from = "2026-09-01", to = "2026-09-01" } }, judged = 1 },
    { "notified on day 30",
      settings = { site = "changes: [{what: director, on: 2026-09-01, notified_on: 2026-10-01}]" },
      finds = {}, judged = 1, met = 1 },
    { "still time", settings = { site = "changes: [{what: name, on: 2026-10-01}]" }, finds = {}, judged = 0 },
    { "never notified, judged the day after its term",
      settings = { site = "changes: [{what: name, on: 2026-09-15}]" },
      finds = { { detail = "name" } } },
    { "judged in an earlier month", settings = { site = "changes: [{what: name, on: 2026-08-01}]" }, finds = {},
      judged = 0 },
  },
}
