/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <string.h>

#include "base/fault.h"

Test(fault, the_first_fault_is_kept)
{
    struct fault fault = {.code = FAULT_NONE};
    cr_expect_not(fault_set(&fault, FAULT_SETTINGS, "site.yaml:%d: %s", 4, "no such key"));
    cr_expect_not(fault_set(&fault, FAULT_STORE, "later"));
    cr_expect_eq(fault.code, FAULT_SETTINGS);
    cr_expect_str_eq(fault.text, "site.yaml:4: no such key");
}

Test(fault, nobody_need_listen) { cr_expect_not(fault_set(NULL, FAULT_FILE, "unheard")); }

Test(fault, a_long_text_is_cut)
{
    char text[3000];
    memset(text, 'x', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    struct fault fault = {.code = FAULT_NONE};
    fault_set(&fault, FAULT_FILE, "%s", text);
    cr_expect_eq(strlen(fault.text), FAULT_TEXT_SIZE - 1);
}
