/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <string.h>

#include "records/dictionary.h"

Test(dictionary, a_column_is_one_line_with_its_type_words_and_unit)
{
    AUTO(output) output = output_memory();
    AUTO(arena) arena = arena_new();
    dictionary_print(output);
    const char *printed = text_string(arena, output_taken(output));
    static const char *const lines[] = {
        "\n## lot_checks\n",
        "\n| test | id | yes | yes | Id of the test, given once in a site. |\n",
        "\n| outcome | word | yes |  | How it ended. One of `pass`, `fail`. |\n",
        "\n| celsius | number | yes |  | Temperature. In °C. |\n",
        "A record happens at its `performed_at`",
    };
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++)
        cr_expect_not_null(strstr(printed, lines[i]), "%s", lines[i]);
}
