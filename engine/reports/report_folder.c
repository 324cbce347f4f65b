/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writing a report folder: everything into a folder aside, which then replaces the report before. */
#include <string.h>

#include "base/aside.h"
#include "reports/manifest.h"
#include "reports/replace.h"
#include "reports/reports.h"

struct writing { /* a report folder that is being written */
    struct arena *arena;
    const char *aside;
    const char **files; /* written so far, relative to the folder */
    size_t file_count, file_capacity;
    const struct progress *progress;
    struct fault *fault;
};

/* ---- aside ---- */

static bool write_file(struct writing *writing, const struct view *view, const struct report_format *format,
                       const char *file)
{
    AUTO(output) output = NULL;
    struct text path = text_print(writing->arena, "%s/%s", writing->aside, file);
    if (!output_file(&output, path.data, writing->fault) || !format->write(view, output, writing->fault))
        return false;
    VECTOR_GROW(writing->files, writing->file_count, writing->file_capacity);
    writing->files[writing->file_count++] = file;
    struct output *whole = output;
    output = NULL;
    return output_close(whole, writing->fault);
}

static bool write_site(struct writing *writing, const struct audit *audit, const struct site_result *site)
{
    AUTO(view) view = view_new(audit, site);
    for (const struct report_format *format = site_formats; format->file != NULL; format++) {
        struct text file = report_site_page(writing->arena, site, format->file);
        if (!write_file(writing, view, format, file.data))
            return false;
    }
    return true;
}

static bool write_files(struct writing *writing, const struct audit *audit)
{
    AUTO(view) view = view_new(audit, NULL);
    bool ok = true;
    for (const struct report_format *format = audit_formats; ok && format->file != NULL; format++)
        ok = progress_step(writing->progress, "writing reports", 0, audit->site_count, writing->fault) &&
             write_file(writing, view, format, format->file);
    for (size_t i = 0; ok && i < audit->site_count; i++)
        ok = write_site(writing, audit, &audit->sites[i]) &&
             progress_step(writing->progress, "writing reports", i + 1, audit->site_count, writing->fault);
    return ok;
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

static bool write_manifest(const struct writing *writing, const struct audit *audit)
{
    struct manifest_rule *rules = memory_new((audit->rule_count + 1) * sizeof *rules);
    size_t rule_count = list_rules(audit, rules);
    bool ok = manifest_write(writing->aside, writing->files, writing->file_count, audit->chain_heads,
                             audit->chain_head_count, rules, rule_count, writing->fault);
    memory_free(rules);
    return ok;
}

bool reports_write(const struct audit *audit, const char *folder, const struct progress *progress, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    struct text within = text_print(arena, "%s/", folder);
    char *aside = aside_name(within.data);
    struct writing writing = {.arena = arena, .aside = aside, .progress = progress, .fault = fault};
    report_clean(folder);
    bool ok = write_files(&writing, audit) && write_manifest(&writing, audit);
    if (ok)
        ok = report_replace(folder, aside, writing.files, writing.file_count, fault);
    else
        aside_remove(aside);
    memory_free(writing.files);
    memory_free(aside);
    return ok;
}
