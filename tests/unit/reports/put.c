/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "put.h"

#include <criterion/criterion.h>

#include "base/output.h"

void put(const char *folder, const char *file, const char *content)
{
    char path[200];
    struct fault fault = {.code = FAULT_NONE};
    struct output *output;
    snprintf(path, sizeof path, "%s/%s", folder, file);
    cr_assert(output_file(&output, path, &fault), "%s", fault.text);
    output_print(output, "%s", content);
    cr_assert(output_close(output, &fault), "%s", fault.text);
}
