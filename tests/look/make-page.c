/* SPDX-License-Identifier: GPL-3.0-or-later */
/* make-page NAME [SITES FINDINGS TESTS] prints the findings page of an audit built by hand: small, clean or large. */
#include <stdlib.h>
#include <string.h>

#include "../unit/reports/audits.h"
#include "reports/findings_page.h"
#include "reports/html.h"

static struct audit *audit_named(int count, char **words)
{
    if (count == 2 && strcmp(words[1], "small") == 0)
        return audit_small();
    if (count == 2 && strcmp(words[1], "clean") == 0)
        return audit_clean();
    if (count == 5 && strcmp(words[1], "large") == 0)
        return audit_large((size_t)atoi(words[2]), (size_t)atoi(words[3]), (size_t)atoi(words[4]));
    return NULL;
}

int main(int count, char **words)
{
    AUTO(audit) audit = audit_named(count, words);
    if (audit == NULL)
        return 2;
    struct output *output = output_stream(stdout);
    AUTO(view) view = view_new(audit, NULL);
    AUTO(document) page = findings_page(view);
    html_write(page, output);
    return output_close(output, NULL) ? 0 : 2;
}
