/* SPDX-License-Identifier: GPL-3.0-or-later */
/* findings.json, for machines. Fields that do not apply are null; lists and objects keep the audit's order. */
#include "reports/reports.h"

static void day(struct json *json, const char *name, day_number value)
{
    char printed[DAY_TEXT_SIZE];
    day_print(value, printed);
    json_string(json, name, printed);
}

static void period(struct json *json, const struct audit *audit)
{
    json_object(json, "period", true);
    day(json, "from", audit->from);
    day(json, "to", audit->to);
    json_end(json);
    day(json, "as_of", audit->as_of);
}

static void sites(struct json *json, const struct audit *audit)
{
    json_list(json, "sites", false);
    for (size_t i = 0; i < audit->site_count; i++) {
        const struct site_result *site = &audit->sites[i];
        if (site->missing)
            continue;
        json_object(json, NULL, true);
        json_text(json, "site", site->site);
        json_whole(json, "tests", (int64_t)site->tests);
        json_whole(json, "controls", (int64_t)site->controls);
        json_whole(json, "tests_vouched", (int64_t)site->tests_vouched);
        json_end(json);
    }
    json_end(json);
}

/* Sites that could not be audited. The list is there only if it has something to say. */
static void missing_sites(struct json *json, const struct audit *audit)
{
    bool any = false;
    for (size_t i = 0; i < audit->site_count; i++) {
        if (!audit->sites[i].missing)
            continue;
        if (!any)
            json_list(json, "missing", false);
        any = true;
        json_object(json, NULL, true);
        json_text(json, "site", audit->sites[i].site);
        json_text(json, "why", audit->sites[i].why);
        json_end(json);
    }
    if (any)
        json_end(json);
}

/* What earlier audits of the same days found, and this one has not; only if there is any, too. */
static void lost(struct json *json, const struct audit *audit)
{
    if (audit->lost_count == 0)
        return;
    json_list(json, "not_found_any_more", false);
    for (size_t i = 0; i < audit->lost_count; i++) {
        json_object(json, NULL, true);
        json_string(json, "finding", audit->lost[i].number);
        json_text(json, "site", audit->lost[i].site);
        json_text(json, "rule", audit->lost[i].rule);
        json_end(json);
    }
    json_end(json);
}

/* Only if there is any, too. */
static void warnings(struct json *json, const struct audit *audit)
{
    if (audit->warning_count == 0)
        return;
    json_list(json, "warnings", false);
    for (size_t i = 0; i < audit->warning_count; i++)
        json_text(json, NULL, audit->warnings[i]);
    json_end(json);
}

static void rules(struct json *json, const struct audit *audit)
{
    json_list(json, "rules", false);
    for (size_t i = 0; i < audit->rule_count; i++) {
        const struct rule_at_site *rule = &audit->rules[i];
        json_object(json, NULL, true);
        json_text(json, "rule", rule->rule->id);
        json_text(json, "site", rule->site);
        json_whole(json, "judged", (int64_t)rule->judged);
        json_whole(json, "met", (int64_t)rule->met);
        json_whole(json, "findings", (int64_t)rule->findings);
        json_string(json, "state", judged_state_name(rule->state));
        if (rule->state != RULE_JUDGED)
            json_text(json, "why", rule->why);
        if (rule->set.size > 0)
            json_text(json, "set", rule->set);
        json_end(json);
    }
    json_end(json);
}

static void evidence(struct json *json, const struct finding *finding)
{
    json_list(json, "evidence", false);
    for (size_t i = 0; i < finding->evidence_count; i++) {
        json_object(json, NULL, true);
        json_text(json, "file", finding->evidence[i].file);
        json_whole(json, "line", finding->evidence[i].line);
        json_end(json);
    }
    json_end(json);
}

static void one_finding(struct json *json, const struct finding *finding)
{
    json_object(json, NULL, false);
    json_string(json, "finding", finding->number);
    json_text(json, "rule", finding->rule->id);
    json_string(json, "severity", severity_name(finding->severity));
    json_string(json, "duty", duty_name(finding->duty));
    json_string(json, "state", finding_state_name(finding->state));
    json_text(json, "site", finding->site);
    for (enum subject_field field = 0; field < SUBJECT_COUNT; field++)
        json_text(json, subject_field_name(field), finding->subject[field]);
    json_text(json, "from", finding->from);
    json_text(json, "to", finding->to);
    json_whole(json, "events", (int64_t)finding->events);
    json_list(json, "tests", true);
    for (size_t i = 0; i < finding->test_count; i++)
        json_text(json, NULL, finding->tests[i]->test);
    json_end(json);
    json_text(json, "says", finding->says);
    json_text(json, "remedy", finding->rule->remedy);
    json_list(json, "basis", true);
    for (size_t i = 0; i < finding->rule->basis_count; i++)
        json_text(json, NULL, finding->rule->basis[i]);
    json_end(json);
    evidence(json, finding);
    json_end(json);
}

void report_json(const struct audit *audit, struct output *output)
{
    AUTO(json) json = json_new(output);
    json_object(json, NULL, false);
    json_string(json, "format", "assize-findings/1");
    period(json, audit);
    sites(json, audit);
    missing_sites(json, audit);
    lost(json, audit);
    warnings(json, audit);
    rules(json, audit);
    json_list(json, "findings", false);
    for (size_t i = 0; i < audit->finding_count; i++)
        one_finding(json, &audit->findings[i]);
    json_end(json);
    json_end(json);
}
