/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Prints docs/records.md: `make docs` writes it, tests/docs/run compares it. */
#include "records/dictionary.h"

int main(void)
{
    struct output *output = output_stream(stdout);
    dictionary_print(output);
    return output_close(output, NULL) ? 0 : 1;
}
