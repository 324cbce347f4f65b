/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writing a report folder: everything into a folder aside, then names are given one by one. */
#define _XOPEN_SOURCE 700 /* nftw */

#include <dirent.h>
#include <errno.h>
#include <ftw.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "reports/manifest.h"
#include "reports/reports.h"

#define ASIDE ".new-" /* and the number of the process */

struct writing { /* a report folder that is being written */
    struct arena *arena;
    const char *folder, *aside;
    const char **files; /* written so far, relative to the folder */
    size_t file_count, file_capacity;
    const struct progress *progress;
    struct fault *fault;
};

/* ---- aside ---- */

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *where)
{
    (void)status;
    (void)kind;
    (void)where;
    remove(path);
    return 0;
}

static void remove_tree(const char *path) { nftw(path, remove_entry, 8, FTW_DEPTH | FTW_PHYS); }

/* What processes that were killed left behind. */
static void remove_leftovers(struct writing *writing)
{
    DIR *folder = opendir(writing->folder);
    if (folder == NULL)
        return;
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;)
        if (strncmp(entry->d_name, ASIDE, strlen(ASIDE)) == 0)
            remove_tree(text_print(writing->arena, "%s/%s", writing->folder, entry->d_name).data);
    closedir(folder);
}

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

/* ---- names ---- */

/* A site's folder, unless something else has its name: what a link leads to is not the report's. */
static bool make_folder(const struct writing *writing, const char *file)
{
    const char *slash = strchr(file, '/');
    struct stat status;
    if (slash == NULL)
        return true;
    struct text path = text_print(writing->arena, "%s/%.*s", writing->folder, (int)(slash - file), file);
    if (mkdir(path.data, 0777) == 0)
        return true;
    if (errno == EEXIST && lstat(path.data, &status) == 0 && S_ISDIR(status.st_mode))
        return true;
    return fault_set(writing->fault, FAULT_FILE, "%s: cannot make the folder: %s", path.data, strerror(errno));
}

static bool give_name(const struct writing *writing, const char *file)
{
    struct text from = text_print(writing->arena, "%s/%s", writing->aside, file);
    struct text to = text_print(writing->arena, "%s/%s", writing->folder, file);
    return make_folder(writing, file) && output_rename(from.data, to.data, writing->fault);
}

static bool give_names(const struct writing *writing)
{
    manifest_remove_old(writing->folder, writing->files, writing->file_count);
    for (size_t i = 0; i < writing->file_count; i++)
        if (!give_name(writing, writing->files[i]))
            return false;
    return give_name(writing, "manifest.txt");
}

bool reports_write(const struct audit *audit, const char *folder, const struct progress *progress, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    struct text aside = text_print(arena, "%s/" ASIDE "%ld", folder, (long)getpid());
    struct writing writing = {
        .arena = arena, .folder = folder, .aside = aside.data, .progress = progress, .fault = fault};
    remove_leftovers(&writing);
    bool ok = write_files(&writing, audit) && write_manifest(&writing, audit) && give_names(&writing);
    remove_tree(writing.aside);
    memory_free(writing.files);
    return ok;
}
