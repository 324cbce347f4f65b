-- SPDX-License-Identifier: GPL-3.0-or-later
return rule {
  id = "lots.expiring",
  title = "Lots in use that will expire soon",
  severity = "notice",
  duty = "insert",
  basis = { "42 CFR 493.15(e)(1)", "common practice, no source" },
  params = { days = { 30, unit = "days", meaning = "how long before its expiry a lot is named" } },
  subject = { "method", "lot" },
  finding = "state",
  check = function(site)
    local rows, used, order = {}, { reagent = {}, control = {} }, {}
    local function key(method, lot, use) return table.concat({ method, lot, use }, "\31") end
    for _, row in ipairs(site.records "lots") do -- of a control lot's levels the one that expires first
      local known = rows[key(row.method, row.lot, row.use)]
      if not row.discarded_on and (not known or row.expires_on < known.expires_on) then
        rows[key(row.method, row.lot, row.use)] = row
      end
    end
    local function use_lot(method, lot, use)
      if not (method and lot) then return end
      local lots = used[use][method] or {}
      used[use][method] = lots
      if not lots[lot] then
        lots[lot] = true
        table.insert(order, rows[key(method, lot, use)])
      end
    end
    for _, method, lot, control_lot in site.runs({ period = true }, "method", "lot", "control_lot") do
      use_lot(method, lot, "reagent")
      use_lot(method, control_lot, "control")
    end
    for _, row in ipairs(order) do
      local soon = row.expires_on >= site.as_of and row.expires_on <= site.as_of + site.param "days"
      judge { ok = not soon, method = row.method, lot = row.lot, expires = row.expires_on, because = { row } }
    end
  end,
  says = "Lot {lot} of {method} is in use and expires on {expires:day}",
  remedy = "Order a new lot now. Check it before the old one runs out.",
  examples = {
    { "in 30 days", lots = { { lot = "S1", method = "strip", use = "reagent", expires_on = "2026-11-30" } },
      tests = { {} },
      finds = { { method = "strip", lot = "S1" } }, judged = 1 },
    { "in 31 days", lots = { { lot = "S1", method = "strip", use = "reagent", expires_on = "2026-12-01" } },
      tests = { {} }, finds = {}, judged = 1, met = 1 },
    { "today", lots = { { lot = "S1", method = "strip", use = "reagent", expires_on = "2026-10-31" } },
      tests = { {} }, finds = { { lot = "S1" } } },
    { "already expired: another rule says so",
      lots = { { lot = "S1", method = "strip", use = "reagent", expires_on = "2026-10-30" } }, tests = { {} },
      finds = {}, met = 1 },
    { "thrown away",
      lots = { { lot = "S1", method = "strip", use = "reagent", expires_on = "2026-11-05",
          discarded_on = "2026-10-20" } }, tests = { {} }, finds = {}, judged = 0 },
    { "of a control lot's levels the first to expire counts",
      lots = { { lot = "C1", method = "strip", use = "control", level = "high", expires_on = "2026-11-05" } },
      controls = { {} }, finds = { { method = "strip", lot = "C1" } }, judged = 2 },
    { "a control lot is not used by tests of that lot number",
      lots = { { lot = "S9", use = "control", level = "low", expires_on = "2026-11-05" } },
      tests = { { lot = "S9" } },
      finds = {}, judged = 0 },
    { "not used this month", lots = { { lot = "S2", method = "strip", use = "reagent", expires_on = "2026-11-05" } },
      finds = {}, judged = 0 },
  },
}
