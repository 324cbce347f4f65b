/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/reports.h"

#include <ctype.h>
#include <string.h>

#include "base/digest.h"
#include "reports/findings_page.h"
#include "reports/findings_xlsx.h"
#include "reports/fixlist_page.h"
#include "reports/html.h"
#include "reports/pdf.h"
#include "reports/summary_page.h"
#include "reports/workbook.h"

/* ---- the formats ---- */

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
    {"findings.json", write_json},        {"findings.csv", write_csv},   {"findings.html", write_findings_html},
    {"findings.pdf", write_findings_pdf}, {"findings.xlsx", write_xlsx}, {NULL, NULL},
};

const struct report_format site_formats[] = {
    {"fixlist.html", write_fixlist_html},
    {"summary.html", write_summary_html},
    {"summary.pdf", write_summary_pdf},
    {NULL, NULL},
};

/* ---- a site's folder ---- */

static bool is_file_of_report(struct text name)
{
    for (const struct report_format *format = audit_formats; format->file != NULL; format++)
        if (text_equal(name, text_of(format->file)))
            return true;
    return text_equal(name, TEXT("manifest.txt"));
}

/* Letters of a name as it is written here, and those kept of one that is too long for a file system (most take 255). */
enum { FOLDER_NAME_MOST = 200, FOLDER_NAME_KEPT = 120 };

/* "%D0%B6%D0~9f86d081884c7d65": the site's digest tells it from others that begin alike; no name has a ~ else. */
static struct text cut_folder(struct arena *arena, struct text name, struct text site)
{
    unsigned char digest[DIGEST_SIZE];
    char hex[DIGEST_HEX_SIZE];
    digest_of(site.data, site.size, digest);
    digest_hex(digest, hex);
    size_t kept = FOLDER_NAME_KEPT;
    while (name.data[kept - 1] == '%' || name.data[kept - 2] == '%')
        kept--;
    return text_print(arena, "%.*s~%.16s", (int)kept, name.data, hex);
}

struct text report_site_folder(struct arena *arena, struct text site)
{
    AUTO(output) name = output_memory();
    bool taken = is_file_of_report(site);
    for (size_t i = 0; i < site.size; i++) {
        unsigned char c = (unsigned char)site.data[i];
        if ((isalnum(c) && !(taken && i == 0)) || strchr("_-", c) != NULL ||
            (c == '.' && i > 0 && site.data[i - 1] != '.'))
            output_bytes(name, &site.data[i], 1);
        else
            output_print(name, "%%%02X", c);
    }
    struct text folder = output_taken(name);
    return folder.size > FOLDER_NAME_MOST ? cut_folder(arena, folder, site) : text_keep(arena, folder);
}

struct text report_site_page(struct arena *arena, const struct site_result *site, const char *file)
{
    struct text folder = report_site_folder(arena, site->site);
    return text_print(arena, "%.*s/%s", TEXT_FORMAT(folder), file);
}
