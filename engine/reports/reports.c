/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/reports.h"

#include <ctype.h>
#include <string.h>

#include "reports/findings_page.h"
#include "reports/findings_xlsx.h"
#include "reports/fixlist_page.h"
#include "reports/html.h"
#include "reports/manifest.h"
#include "reports/pdf.h"
#include "reports/summary_page.h"
#include "reports/workbook.h"

/* ---- the formats ----------------------------------------------------------------------------------------------- */

static bool write_json(const struct view *view, struct output *output, struct fault *fault)
{
    (void)fault;
    report_json(view->audit, output);
    return true;
}

static bool write_csv(const struct view *view, struct output *output, struct fault *fault)
{
    (void)fault;
    report_csv(view->audit, output);
    return true;
}

static bool write_html(struct document *page, struct output *output)
{
    html_write(page, output);
    document_free(page);
    return true;
}

static bool write_findings_html(const struct view *view, struct output *output, struct fault *fault)
{
    (void)fault;
    return write_html(findings_page(view), output);
}

static bool write_fixlist_html(const struct view *view, struct output *output, struct fault *fault)
{
    (void)fault;
    return write_html(fixlist_page(view), output);
}

static bool write_summary_html(const struct view *view, struct output *output, struct fault *fault)
{
    (void)fault;
    return write_html(summary_page(view), output);
}

static bool write_pdf(struct document *page, const struct view *view, struct output *output, struct fault *fault)
{
    bool written = pdf_write(page, view->audit->as_of, output, fault);
    document_free(page);
    return written;
}

static bool write_findings_pdf(const struct view *view, struct output *output, struct fault *fault)
{
    return write_pdf(findings_page(view), view, output, fault);
}

static bool write_summary_pdf(const struct view *view, struct output *output, struct fault *fault)
{
    return write_pdf(summary_page(view), view, output, fault);
}

static bool write_xlsx(const struct view *view, struct output *output, struct fault *fault)
{
    return findings_xlsx(view, WORKBOOK_ROWS, output, fault);
}

const struct report_format audit_formats[] = {
    {"findings.json", write_json},
    {"findings.csv", write_csv},
    {"findings.html", write_findings_html},
    {"findings.pdf", write_findings_pdf},
    {"findings.xlsx", write_xlsx},
    {NULL, NULL},
};

const struct report_format site_formats[] = {
    {"fixlist.html", write_fixlist_html},
    {"summary.html", write_summary_html},
    {"summary.pdf", write_summary_pdf},
    {NULL, NULL},
};

/* ---- writing them ---------------------------------------------------------------------------------------------- */

struct writing { /* a report folder that is being written */
    struct arena *arena;
    const char *folder;
    const char **files; /* written so far, relative to the folder */
    size_t file_count, file_capacity;
    struct fault *fault;
};

static bool write_file(struct writing *writing, const struct view *view, const struct report_format *format,
                       const char *file)
{
    AUTO(output) output = NULL;
    struct text path = text_print(writing->arena, "%s/%s", writing->folder, file);
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
        ok = write_file(writing, view, format, format->file);
    for (size_t i = 0; ok && i < audit->site_count; i++)
        ok = write_site(writing, audit, &audit->sites[i]);
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
    manifest_remove_old(writing->folder, writing->files, writing->file_count);
    bool ok = manifest_write(writing->folder, writing->files, writing->file_count, audit->chain_head, rules, rule_count,
                             writing->fault);
    memory_free(rules);
    return ok;
}

bool reports_write(const struct audit *audit, const char *folder, struct fault *fault)
{
    AUTO(arena) arena = arena_new();
    struct writing writing = {.arena = arena, .folder = folder, .fault = fault};
    bool ok = write_files(&writing, audit) && write_manifest(&writing, audit);
    memory_free(writing.files);
    return ok;
}

struct text report_site_folder(struct arena *arena, struct text site)
{
    AUTO(output) name = output_memory();
    for (size_t i = 0; i < site.size; i++) {
        unsigned char c = (unsigned char)site.data[i];
        if (isalnum(c) || strchr("_-", c) != NULL || (c == '.' && i > 0 && site.data[i - 1] != '.'))
            output_bytes(name, &site.data[i], 1);
        else
            output_print(name, "%%%02X", c);
    }
    return text_keep(arena, output_taken(name));
}

struct text report_site_page(struct arena *arena, const struct site_result *site, const char *file)
{
    struct text folder = report_site_folder(arena, site->site);
    return text_print(arena, "%.*s/%s", TEXT_FORMAT(folder), file);
}
