/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands/site_page.h"

#include <stdio.h>

#include "base/output.h"
#include "reports/html.h"
#include "reports/pdf.h"
#include "reports/plain.h"
#include "reports/wrapped.h"

bool page_out_check(const struct arguments *arguments, struct fault *fault)
{
    const char *out = argument_text(arguments, "out");
    if (!out || text_ends(text_of(out), ".html") || text_ends(text_of(out), ".pdf"))
        return true;
    return fault_set(fault, FAULT_USAGE, "--out: %s: the name must end in .html or .pdf", out);
}

bool page_out(const struct document *page, day_number as_of, const struct arguments *arguments, struct fault *fault)
{
    const char *out = argument_text(arguments, "out");
    AUTO(output) output = NULL;
    if (!out) {
        output = output_stream(stdout);
        plain_write(page, wrapped_width(), output);
    } else {
        if (!output_page(&output, out, fault))
            return false;
        if (text_ends(text_of(out), ".html"))
            html_write(page, output);
        else if (!pdf_write(page, as_of, output, fault))
            return false;
    }
    struct output *whole = output;
    output = NULL;
    return output_close(whole, fault);
}

static bool one_site(const struct judged *judged, const struct site_result *site, const struct arguments *arguments,
                     struct document *(*make)(const struct view *), struct fault *fault)
{
    AUTO(view) view = view_new(judged->audit, site);
    AUTO(document) page = make(view);
    return page_out(page, judged->key.as_of, arguments, fault);
}

bool site_pages(const struct arguments *arguments, struct document *(*page)(const struct view *), struct fault *fault)
{
    AUTO(judged) judged = NULL;
    if (!page_out_check(arguments, fault) || !judged_read(&judged, arguments, true, fault))
        return false;
    const struct audit *audit = judged->audit;
    if (argument_flag(arguments, "out") && audit->site_count != 1)
        return fault_set(fault, FAULT_USAGE, "--out holds the page of one site: say which with --site");
    bool ok = true;
    for (size_t i = 0; ok && i < audit->site_count; i++)
        ok = one_site(judged, &audit->sites[i], arguments, page, fault);
    return ok;
}
