# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds docs/requirements.md against the rule files: each rule that the page names exists, each rule is named, each row says who
asks and what judges it, no row is missing, and a row names only rules that are asked for by whom it says."""
import pathlib
import re
import sys

# How many rows each theme of the page has: a row that gets lost is noticed.
ROWS = {"CERT": 12, "PPL": 13, "PROC": 8, "INST": 11, "LOT": 17, "QC": 16, "RES": 19, "SPEC": 6, "CAPA": 7, "PT": 9, "INT": 12,
        "SAF": 12}
DUTIES = ("law", "insert", "policy", "accreditor", "practice")


def rules(root):
    """Rule ids with their duty; None where a setting names it (`by`)."""
    found = {}
    for path in sorted((root / "rules").glob("*/*.lua")):
        text = path.read_text(encoding="utf-8")
        rule_id = re.search(r'^  id = "([^"]+)"', text, re.M)
        if rule_id:
            duty = re.search(r'^  duty = "([^"]+)"', text, re.M)
            found[rule_id[1]] = duty[1] if duty else None
    return found


def who_asks(cell):
    """The duties of a cell; `other law` is none of them."""
    return [duty for duty in DUTIES if re.search(rf"\b{duty}\b", cell.replace("other law", ""))]


def check(page, known):
    """What is wrong with the page, a line each."""
    themes = {rule.split(".")[0] for rule in known}
    named = [word for word in re.findall(r"`([a-z]+\.[a-z-]+)`", page) if word.split(".")[0] in themes]
    wrong = [f"{word} is no rule" for word in sorted({word for word in named if word not in known} - {"site.yaml"})]
    wrong += [f"{rule} is not named" for rule in known if rule not in named]
    seen = []
    for line in page.splitlines():
        row = re.match(r"\| ([A-Z]+-\d+) \| (.*) \| (.*) \| (.*) \|$", line)
        if not row:
            continue
        seen.append(row[1])
        judges = [word for word in re.findall(r"`([a-z]+\.[a-z-]+)`", row[4]) if word in known]
        if not judges and not re.match(r"(Cannot be shown|Left to the site|Nothing to judge|No rule): .", row[4]):
            wrong.append(f"{row[1]} has neither a rule nor a reason")
        if not who_asks(row[3]) and not re.search(r"State|other law", row[3]):
            wrong.append(f"{row[1]} does not say who asks")
        if re.match(r"`", row[4]):
            wrong += [f"{row[1]} names {rule}, which is asked for by {known[rule]}" for rule in judges
                      if known[rule] and known[rule] not in who_asks(row[3])]
    wanted = [f"{theme}-{n}" for theme, count in ROWS.items() for n in range(1, count + 1)]
    wrong += [f"there is no row {row}" for row in wanted if row not in seen]
    wrong += [f"row {row} stands twice or is not counted" for row in sorted(set(seen)) if row not in wanted or
              seen.count(row) > 1]
    ours = page.partition("\n## Ours\n")[2].partition("\n## ")[0]
    wrong += [f"Ours: no reason in: {line}" for line in ours.splitlines() if line.startswith("* ")
              and not re.match(r"\* `[a-z.-]+` \((?:%s)\): ..." % "|".join(DUTIES), line)]
    return wrong


def main():
    root = pathlib.Path(__file__).resolve().parents[2]
    page, known = (root / "docs/requirements.md").read_text(encoding="utf-8"), rules(root)
    bad = check(page, known)
    # The check itself must see each kind of mistake.
    for name, spoilt, sees in (
            ("an unknown rule", page.replace("`lots.expired`", "`lots.expried`"), "lots.expried is no rule"),
            ("a rule left out", page.replace("`lots.expiring`", "it"), "lots.expiring is not named"),
            ("a row left out", page.replace("| QC-7 |", "| QC-70 |"), "there is no row QC-7"),
            ("a row without a reason", page.replace("Cannot be shown: no orders in the logs", "No"), "RES-1 has neither"),
            ("a practice called law", page.replace("| accreditor, practice | `people.trained`", "| law | `people.trained`"),
             "PPL-1 names people.trained")):
        if not any(line.startswith(sees) for line in check(spoilt, known)):
            bad.append(f"the check does not see {name}")
    print("\n".join(bad))
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
