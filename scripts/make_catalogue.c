/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Prints docs/catalogue.md from rules/: `make docs` writes it, tests/docs/run compares it. Run it from the root. */
#include <stdio.h>

#include "reports/catalogue.h"

int main(void)
{
    AUTO(rulebook) book = rulebook_new();
    struct fault fault = {0};
    bool good = rulebook_add(book, "rules", "rules", &fault);
    if (good && book->broken_count > 0)
        good = fault_set(&fault, FAULT_RULE, "%.*s", TEXT_FORMAT(book->broken[0].why));
    if (!good) {
        fprintf(stderr, "make-catalogue: %s\n", fault.text);
        return 2;
    }
    struct output *output = output_stream(stdout);
    catalogue_print(book, output);
    return output_close(output, NULL) ? 0 : 1;
}
