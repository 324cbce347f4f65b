/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/reports.h"

#include "reports/manifest.h"

const struct report_format report_formats[] = {
    {"findings.json", report_json},
    {"findings.csv", report_csv},
    {"findings.html", report_html},
    {NULL, NULL},
};

static bool write_format(const struct audit *audit, const struct report_format *format, const char *folder,
                         struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    struct output *output;
    struct text path = text_print(arena, "%s/%s", folder, format->file);
    if (!output_file(&output, path.data, fault))
        return false;
    format->write(audit, output);
    return output_close(output, fault);
}

/* The rules that were judged by, each once, with the digest of its file. */
static size_t list_rules(const struct audit *audit, struct manifest_rule *rules)
{
    size_t count = 0;
    for (size_t i = 0; i < audit->rule_count; i++) {
        const struct rule_text *rule = audit->rules[i].rule;
        bool known = false;
        for (size_t j = 0; j < count && !known; j++)
            known = rules[j].rule == rule;
        if (!known)
            rules[count++] = (struct manifest_rule){rule, rule->id, rule->sha256};
    }
    return count;
}

bool reports_write(const struct audit *audit, const char *folder, struct fault *fault)
{
    const char *files[sizeof report_formats / sizeof *report_formats];
    size_t count = 0;
    for (const struct report_format *format = report_formats; format->file; format++) {
        if (!write_format(audit, format, folder, fault))
            return false;
        files[count++] = format->file;
    }
    struct manifest_rule *rules = memory_new((audit->rule_count + 1) * sizeof *rules);
    size_t rule_count = list_rules(audit, rules);
    manifest_remove_old(folder, files, count);
    bool ok = manifest_write(folder, files, count, audit->chain_head, rules, rule_count, fault);
    memory_free(rules);
    return ok;
}
