/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writing a report folder: everything into a folder aside, which then replaces the report before. */
#include <string.h>

#include "base/aside.h"
#include "base/crew.h"
#include "intake/file.h"
#include "reports/manifest.h"
#include "reports/replace.h"
#include "reports/reports.h"

struct writing { /* a report folder that is being written */
    struct arena *arena;
    const struct audit *audit;
    const struct view *view; /* of all sites */
    const char *aside;
    const char **files; /* relative to the folder: those of the audit, then those of each site */
    size_t file_count, audit_files, site_files;
};

/* ---- aside ---- */

static size_t count_of(const struct report_format *formats)
{
    size_t count = 0;
    while (formats[count].file != NULL)
        count++;
    return count;
}

static void list_files(struct writing *writing)
{
    const struct audit *audit = writing->audit;
    writing->audit_files = count_of(audit_formats);
    writing->site_files = count_of(site_formats);
    size_t most = writing->audit_files + audit->site_count * writing->site_files;
    writing->files = memory_new((most + 1) * sizeof *writing->files);
    for (size_t i = 0; i < writing->audit_files; i++)
        writing->files[writing->file_count++] = audit_formats[i].file;
    for (size_t i = 0; i < audit->site_count; i++)
        for (size_t j = 0; j < writing->site_files; j++)
            writing->files[writing->file_count++] =
                report_site_page(writing->arena, &audit->sites[i], site_formats[j].file).data;
}

static bool write_file(const struct writing *writing, const struct view *view, const struct report_format *format,
                       const char *file, struct fault *fault)
{
    AUTO(output) output = NULL;
    char *path = path_join(writing->aside, file);
    bool opened = output_file(&output, path, fault);
    memory_free(path);
    if (!opened || !format->write(view, output, fault))
        return false;
    struct output *whole = output;
    output = NULL;
    return output_close(whole, fault);
}

static bool write_site(const struct writing *writing, size_t number, struct fault *fault)
{
    AUTO(view) view = view_new(writing->audit, &writing->audit->sites[number]);
    const char **files = writing->files + writing->audit_files + number * writing->site_files;
    for (size_t i = 0; i < writing->site_files; i++)
        if (!write_file(writing, view, &site_formats[i], files[i], fault))
            return false;
    return true;
}

/* The files of the audit one by one, then all of a site at once. */
static bool write_next(void *context, void *tool, size_t number, struct fault *fault)
{
    const struct writing *writing = context;
    (void)tool;
    if (number < writing->audit_files)
        return write_file(writing, writing->view, &audit_formats[number], writing->files[number], fault);
    return write_site(writing, number - writing->audit_files, fault);
}

static bool write_files(struct writing *writing, size_t threads, const struct progress *progress, struct fault *fault)
{
    AUTO(view) view = view_new(writing->audit, NULL);
    writing->view = view;
    list_files(writing);
    const struct crew crew = {.work = "writing reports",
                              .count = writing->audit_files + writing->audit->site_count,
                              .hands = threads,
                              .one = write_next,
                              .context = writing,
                              .progress = progress};
    return crew_run(&crew, fault);
}

/* The rules that were judged by, each once, with the digest of its file. */
static struct named_digest *list_rules(const struct audit *audit, size_t *count)
{
    struct named_digest *rules = memory_new((audit->rule_count + 1) * sizeof *rules);
    for (size_t i = 0; i < audit->rule_count; i++) {
        const struct rule_text *rule = audit->rules[i].rule;
        rules[i].name = rule->id;
        memcpy(rules[i].hex, rule->sha256, sizeof rules[i].hex);
    }
    *count = named_digests_sort(rules, audit->rule_count);
    return rules;
}

static bool write_manifest(const struct writing *writing, struct fault *fault)
{
    const struct audit *audit = writing->audit;
    size_t rule_count;
    struct named_digest *rules = list_rules(audit, &rule_count);
    const struct manifest_contents contents = {
        .files = writing->files,
        .file_count = writing->file_count,
        .chain_heads = audit->chain_heads,
        .chain_head_count = audit->chain_head_count,
        .sources =
            {[MANIFEST_RULE] = {rules, rule_count}, [MANIFEST_SETTINGS] = {audit->settings, audit->settings_count}},
    };
    bool ok = manifest_write(writing->aside, &contents, fault);
    memory_free(rules);
    return ok;
}

bool reports_write(const struct audit *audit, const char *folder, size_t threads, const struct progress *progress,
                   struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    struct text within = text_print(arena, "%s/", folder);
    char *aside = aside_name(within.data);
    struct writing writing = {.arena = arena, .audit = audit, .aside = aside};
    bool ok = report_clean(folder, fault) && write_files(&writing, threads, progress, fault) &&
              write_manifest(&writing, fault);
    if (ok)
        ok = report_replace(folder, aside, writing.files, writing.file_count, fault);
    else
        aside_remove(aside);
    memory_free(writing.files);
    memory_free(aside);
    return ok;
}
