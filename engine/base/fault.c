/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/fault.h"

#include <stdarg.h>
#include <stdio.h>

bool fault_set(struct fault *fault, enum fault_code code, const char *format, ...)
{
    if (fault == NULL || fault->code != FAULT_NONE)
        return false;
    fault->code = code;
    va_list values;
    va_start(values, format);
    vsnprintf(fault->text, sizeof fault->text, format, values);
    va_end(values);
    return false;
}
