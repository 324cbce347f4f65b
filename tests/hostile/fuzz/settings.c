/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Settings: site.yaml, and after each record separator (1E) a method file. Settings that are taken are in their ranges
 * and in order; else there is one fault that names a file. The same files give the same settings. */
#include <stdio.h>
#include <string.h>

#include "common/fuzz.h"
#include "intake/settings.h"

enum { SOURCES_MOST = 6, NAME_SIZE = 32 };

static void require_number(const struct setting_number *number)
{
    REQUIRE(number->number == number->number);
    REQUIRE(!number->present || number->text.size > 0);
}

static void require_method(const struct site_settings *site, size_t place)
{
    const struct method_settings *method = &site->methods[place];
    REQUIRE(place == 0 || text_compare(site->methods[place - 1].method, method->method) < 0);
    REQUIRE(settings_method(site, method->method) == method);
    require_number(&method->reportable_low);
    require_number(&method->allowable_percent);
    require_number(&method->limit_sd);
    if (method->reportable_low.present && method->reportable_high.present)
        REQUIRE(method->reportable_low.number <= method->reportable_high.number);
    for (size_t i = 0; i < method->clause_count; i++)
        REQUIRE(method->clauses[i].name.size > 0 && method->clauses[i].by < DUTY_COUNT);
    for (size_t i = 0; i < method->line_count; i++)
        REQUIRE(method->lines[i].line >= 1 && method->lines[i].key.size > 0);
    for (size_t i = 0; i < method->level_count; i++)
        REQUIRE(method->levels[i].size > 0);
}

static void require_site(const struct site_settings *site)
{
    REQUIRE(site->site.size > 0 && site->day_starts_at >= 0 && site->day_starts_at < 86400 && site->open_days < 128);
    for (size_t i = 0; i < site->method_count; i++)
        require_method(site, i);
    for (size_t i = 0; i < site->closed_count; i++)
        REQUIRE(!settings_open_on(site, site->closed_on[i]));
    for (size_t i = 0; i < site->warning_count; i++)
        REQUIRE(site->warnings[i].size > 0);
}

static void require_again(const struct settings_source *sources, size_t count, const struct site_settings *first)
{
    struct site_settings second;
    struct fault fault = {.code = FAULT_NONE};
    AUTO(arena) arena = arena_new();
    REQUIRE(settings_parse_site(sources, count, arena, &second, &fault));
    REQUIRE(text_equal(first->site, second.site) && first->method_count == second.method_count);
    REQUIRE(first->warning_count == second.warning_count && first->open_days == second.open_days);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct text rest = fuzz_text(data, size), part;
    struct settings_source sources[SOURCES_MOST];
    char names[SOURCES_MOST][NAME_SIZE] = {"site.yaml"};
    size_t count = 0;
    while (count < SOURCES_MOST && fuzz_part(&rest, 0x1E, &part)) {
        if (count > 0)
            snprintf(names[count], NAME_SIZE, "methods/m%zu.yaml", count);
        sources[count] = (struct settings_source){names[count], names[count], fuzz_copy(part), part.size};
        count++;
    }
    if (count == 0)
        return -1;
    struct site_settings site;
    struct fault fault = {.code = FAULT_NONE};
    AUTO(arena) arena = arena_new();
    bool good = settings_parse_site(sources, count, arena, &site, &fault);
    REQUIRE(good == (fault.code == FAULT_NONE));
    if (good) {
        require_site(&site);
        require_again(sources, count, &site);
    } else {
        REQUIRE(fault.code == FAULT_SETTINGS && strchr(fault.text, ':') != NULL);
    }
    for (size_t i = 0; i < count; i++)
        memory_free((void *)(uintptr_t)sources[i].bytes);
    return 0;
}
