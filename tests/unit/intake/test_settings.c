/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <string.h>

#include "intake/settings.h"
#include "scratch.h"

static const char full_site[] =
    "# an invented clinic\n"
    "site: quarry-lane\n"
    "name: \"Quarry Lane: a Practice\"\n"
    "certificate: {number: \"99D0000001\", kind: waiver, issued_on: 2025-03-01, expires_on: 2027-02-28}\n"
    "director: Dr A. Example\n"
    "changes:\n"
    "  - {what: director, on: 2026-05-04, notified_on: 2026-05-20}\n"
    "  - {what: location, on: 2026-06-01}\n"
    "day_starts_at: 7:00\n"
    "open_days: [mon, tue, sun]\n"
    "closed_on: [2026-07-03]\n"
    "places:\n"
    "  - {place: supply-fridge, low: 2, high: 8.0, readings_per_open_day: 1}\n"
    "  - {place: test-room, humidity_high: 80}\n"
    "menu: [strip, cassette]\n"
    "policy:\n"
    "  records.late: {max_hours: 48}\n"
    "  comparison.schedule: {off: \"first year, joins in January\"}\n"
    "excused:\n"
    "  F-7K2M9QX4TB: answered on paper\n";

static bool parse_site(const char *yaml, struct arena *arena, struct site_settings *out, struct fault *fault)
{
    const struct settings_source source = {"a/site.yaml", "site.yaml", yaml, strlen(yaml)};
    *fault = (struct fault){0};
    return settings_parse_site(&source, 1, arena, out, fault);
}

static day_number day(const char *text)
{
    day_number out = DAY_ABSENT;
    cr_assert(day_parse(text_of(text), &out, NULL));
    return out;
}

Test(settings, a_site_is_read_with_all_its_keys)
{
    AUTO(arena) arena = arena_new();
    struct site_settings site;
    struct fault fault;
    cr_assert(parse_site(full_site, arena, &site, &fault), "%s", fault.text);
    cr_expect(text_is(site.site, "quarry-lane"));
    cr_expect(text_is(site.name, "Quarry Lane: a Practice"));
    cr_expect(text_is(site.director, "Dr A. Example"));
    cr_expect(site.has_certificate);
    cr_expect(text_is(site.certificate_number, "99D0000001"));
    cr_expect_eq(site.certificate_issued_on, day("2025-03-01"));
    cr_expect_eq(site.certificate_expires_on, day("2027-02-28"));
    cr_expect_eq(site.certificate_where.line, 4);
    cr_expect_eq(site.day_starts_at, 7 * 3600);
    cr_expect_eq(site.open_days, 1U | 2U | 64U);
    cr_assert_eq(site.closed_count, 1);
    cr_expect_eq(site.closed_on[0], day("2026-07-03"));
    cr_assert_eq(site.menu_count, 2);
    cr_expect(text_is(site.menu[1], "cassette"));
}

Test(settings, lists_of_a_site_keep_their_lines)
{
    AUTO(arena) arena = arena_new();
    struct site_settings site;
    struct fault fault;
    cr_assert(parse_site(full_site, arena, &site, &fault), "%s", fault.text);
    cr_assert_eq(site.change_count, 2);
    cr_expect(text_is(site.changes[0].what, "director"));
    cr_expect_eq(site.changes[0].notified_on, day("2026-05-20"));
    cr_expect_eq(site.changes[1].notified_on, DAY_ABSENT);
    cr_expect_eq(site.changes[1].where.line, 8);
    cr_expect(text_is(site.changes[1].where.file, "site.yaml"));
    cr_assert_eq(site.place_count, 2);
    cr_expect_eq(site.places[0].high.number, 8);
    cr_expect(text_is(site.places[0].high.text, "8.0"));
    cr_expect_not(site.places[0].humidity_high.present);
    cr_expect_not(site.places[1].low.present);
    cr_assert_eq(site.policy.count, 2);
    cr_expect(text_is(site.policy.entries[0].rule, "records.late"));
    cr_expect(text_is(site.policy.entries[0].values[0].value, "48"));
    cr_expect_eq(site.policy.entries[0].values[0].where.line, 17);
    cr_expect(site.policy.entries[1].off);
    cr_expect(text_is(site.policy.entries[1].reason, "first year, joins in January"));
    cr_assert_eq(site.excused_count, 1);
    cr_expect(text_is(site.excused[0].finding, "F-7K2M9QX4TB"));
    cr_expect_eq(site.excused[0].where.line, 20);
}

Test(settings, what_a_site_does_not_say_is_absent)
{
    AUTO(arena) arena = arena_new();
    struct site_settings site;
    struct fault fault;
    static const char *const vectors[] = {
        "site: x\n", "site: x\nchanges:\nplaces:\nopen_days:\nclosed_on:\nmenu:\npolicy:\nexcused:\n",
        "site: x\npolicy: {}\nexcused: {}\nmenu: []\n"};
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        cr_assert(parse_site(vectors[i], arena, &site, &fault), "%s", fault.text);
        cr_expect(text_is(site.name, "x"));
        cr_expect_null(site.director.data);
        cr_expect_not(site.has_certificate);
        cr_expect_eq(site.certificate_expires_on, DAY_ABSENT);
        cr_expect_eq(site.day_starts_at, 0);
        cr_expect_eq(site.open_days, 0);
        cr_expect_eq(site.change_count + site.closed_count + site.place_count + site.menu_count + site.policy.count +
                         site.excused_count + site.method_count,
                     0);
    }
}

Test(settings, lists_that_are_looked_at_with_each_run_have_an_end)
{
    static const char *const keys[] = {"menu:\n", "places:\n"};
    for (size_t i = 0; i < 2; i++)
        for (int count = 300; count <= 301; count++) {
            AUTO(arena) arena = arena_new();
            struct site_settings site;
            struct fault fault;
            struct text yaml = text_print(arena, "site: x\n%s", keys[i]);
            for (int entry = 0; entry < count; entry++)
                yaml = text_print(arena, "%.*s%.*s", TEXT_FORMAT(yaml),
                                  TEXT_FORMAT(text_print(arena, i ? "  - {place: p%d}\n" : "  - m%d\n", entry)));
            bool good = parse_site(yaml.data, arena, &site, &fault);
            cr_expect_eq(good, count == 300, "%zu %d", i, count);
            if (!good)
                cr_expect_not_null(strstr(fault.text, "has 301 entries; 300 at most"), "%s", fault.text);
        }
}

Test(settings, errors_of_a_site_name_file_line_key_and_reason)
{
    static const char *const vectors[][2] = {
        {"name: x\n", "a/site.yaml:1: site: is missing"},
        {"site:\n", "a/site.yaml:1: site: has no value; fill it in or remove the line"},
        {"site: \"\"\n", "a/site.yaml:1: site: is empty"},
        {"site: [x]\n", "a/site.yaml:1: site: expected one value"},
        {"name: x\nsite: ../x\n", "a/site.yaml:2: site: ../x: must be good as the name of a folder"},
        {"site: x\nopen_day: [mon]\n", "a/site.yaml:2: open_day: unknown key, the nearest known is open_days"},
        {"site: x\ncolour: red\n", "a/site.yaml:2: colour: unknown key"},
        {"site: x\nopen_days: mon\n", "a/site.yaml:2: open_days: expected a list"},
        {"site: x\nopen_days:\n  - mon\n  - Tuesday\n",
         "a/site.yaml:4: open_days: Tuesday: expected mon, tue, wed, thu, fri, sat or sun"},
        {"site: x\nday_starts_at: 25:00\n", "a/site.yaml:2: day_starts_at: 25:00: expected a time of day, HH:MM"},
        {"site: x\nday_starts_at: 12:01\n", "a/site.yaml:2: day_starts_at: 12:01: must not be later than 12:00"},
        {"site: x\nday_starts_at: \"23:59\"\n", "a/site.yaml:2: day_starts_at: 23:59: must not be later than 12:00"},
        {"site: x\nday_starts_at: seven\n", "a/site.yaml:2: day_starts_at: seven: expected a time of day, HH:MM"},
        {"site: x\nclosed_on: [2026-02-30]\n", "a/site.yaml:2: closed_on: 2026-02-30: not a real calendar date"},
        {"site: x\ncertificate: waiver\n", "a/site.yaml:2: certificate: expected keys and values"},
        {"site: x\ncertificate:\n  issue_on: 2026-01-01\n",
         "a/site.yaml:3: certificate.issue_on: unknown key, the nearest known is issued_on"},
        {"site: x\ncertificate: {issued_on: 1.3.2025}\n",
         "a/site.yaml:2: certificate.issued_on: 1.3.2025: expected YYYY-MM-DD"},
        {"site: x\ncertificate: {issued_on: 2027-01-01, expires_on: 2026-01-01}\n",
         "a/site.yaml:2: certificate: expires before it is issued"},
        {"site: x\nchanges:\n  - {what: director}\n", "a/site.yaml:3: changes.on: is missing"},
        {"site: x\nchanges:\n  - {what: colour, on: 2026-01-01}\n",
         "a/site.yaml:3: changes: colour: expected ownership, name, location or director"},
        {"site: x\nplaces:\n  - {place: f, low: 8, high: 2}\n", "a/site.yaml:3: places: low 8 lies above high 2"},
        {"site: x\nplaces:\n  - {place: f, low: \"2,5\"}\n", "a/site.yaml:3: places.low: 2,5: expected a number"},
        {"site: x\nplaces:\n  - {place: f, readings_per_open_day: 1.5}\n",
         "a/site.yaml:3: places.readings_per_open_day: 1.5: expected a whole number"},
        {"site: x\nplaces:\n  - {place: f, readings_per_open_day: -1}\n",
         "a/site.yaml:3: places.readings_per_open_day: -1: must not be below 0"},
        {"site: x\nplaces:\n  - {place: f}\n  - {place: f}\n", "a/site.yaml:4: places: f: stands twice"},
        {"site: x\nmenu: [a, b, a]\n", "a/site.yaml:2: menu: a: stands twice"},
        {"site: x\nsite: y\n", "a/site.yaml:2: site: stands twice"},
        {"site: x\npolicy: off\n", "a/site.yaml:2: policy: expected keys and values"},
        {"site: x\npolicy:\n  records.late: 48\n", "a/site.yaml:3: policy.records.late: expected keys and values"},
        {"site: x\npolicy:\n  records.late: {max_hours: }\n",
         "a/site.yaml:3: policy.records.late.max_hours: has no value; fill it in or remove the line"},
        {"site: x\npolicy:\n  records.late: {max_hours: {a: b}}\n",
         "a/site.yaml:3: policy.records.late.max_hours: expected one value or a list of values"},
        {"site: x\npolicy:\n  records.late: {off: }\n",
         "a/site.yaml:3: policy.records.late.off: has no value; fill it in or remove the line"},
        {"site: x\npolicy:\n  records.late: {off: no}\n",
         "a/site.yaml:3: policy.records.late.off: no: say in words why "
         "the rule is off; to leave it on, remove the line"},
        {"site: x\nexcused:\n  F-7K2M9QX4TB: \" \"\n", "a/site.yaml:3: excused.F-7K2M9QX4TB: say why it is excused"},
        {"site: x\nexcused: [F-7K2M9QX4TB]\n", "a/site.yaml:2: excused: expected keys and values"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        AUTO(arena) arena = arena_new();
        struct site_settings site;
        struct fault fault;
        cr_expect_not(parse_site(vectors[i][0], arena, &site, &fault), "%s", vectors[i][0]);
        cr_expect_str_eq(fault.text, vectors[i][1], "%s", fault.text);
        cr_expect_eq(fault.code, FAULT_SETTINGS);
    }
}

Test(settings, a_policy_value_may_be_a_list)
{
    AUTO(arena) arena = arena_new();
    struct site_settings site;
    struct fault fault;
    cr_assert(parse_site("site: x\npolicy:\n  r: {a: [1-3s, 2-2s], b: [], c: no}\n", arena, &site, &fault), "%s",
              fault.text);
    const struct policy_value *values = site.policy.entries[0].values;
    cr_expect(text_is(values[0].value, "1-3s;2-2s"));
    cr_expect(text_is(values[1].value, ""));
    cr_expect(text_is(values[2].value, "no"));
}

/* ---- folders ---- */

static const char strip[] = "method: strip\nwaived: true\nunit: \"%\"\nanalyte: from the program\n";
static const char own_strip[] = "method: strip\nwaived: true\nunit: \"%\"\nanalyte: from the site\n";
static const char cassette[] = "method: cassette\nwaived: true\nwords: [positive, negative]\n";

static bool read_folder(struct scratch *scratch, const char *name, struct arena *arena, struct site_settings *site,
                        struct program_settings *program, struct fault *fault)
{
    struct folder *folder;
    *fault = (struct fault){0};
    cr_assert(folder_open(&folder, scratch_path(scratch, name), fault), "%s", fault->text);
    bool good = settings_read_program(folder, arena, program, fault) &&
                settings_read_site(folder, &folder->sites[0], arena, site, fault);
    folder_free(folder);
    return good;
}

static struct scratch *program_new(void)
{
    struct scratch *scratch = scratch_new();
    scratch_write(scratch, "program.yaml", "program: valley\npolicy:\n  lots.expiring: {days: 45}\n");
    scratch_write(scratch, "methods/strip.yaml", strip);
    scratch_write(scratch, "methods/cassette.yaml", cassette);
    scratch_write(scratch, "sites/a/site.yaml", "site: a\n");
    return scratch;
}

Test(settings, methods_of_a_program_are_shared_and_a_sites_own_goes_before)
{
    AUTO(scratch) scratch = program_new();
    AUTO(arena) arena = arena_new();
    struct site_settings site;
    struct program_settings program;
    struct fault fault;
    cr_assert(read_folder(scratch, "", arena, &site, &program, &fault), "%s", fault.text);
    cr_expect(text_is(program.program, "valley"));
    cr_expect(text_is(program.name, "valley"));
    cr_expect(text_is(program.policy.entries[0].values[0].value, "45"));
    cr_assert_eq(site.method_count, 2);
    cr_expect(text_is(site.methods[0].method, "cassette"));
    cr_expect(text_is(settings_method(&site, TEXT("strip"))->analyte, "from the program"));
    cr_expect(text_is(settings_method(&site, TEXT("strip"))->where.file, "../../methods/strip.yaml"));
    cr_expect_null(settings_method(&site, TEXT("other")));

    scratch_write(scratch, "sites/a/methods/strip.yaml", own_strip);
    scratch_write(scratch, "sites/a/methods/strip.yaml~", "left by an editor");
    scratch_write(scratch, "sites/a/methods/.strip.yaml", "left by another");
    scratch_write(scratch, "sites/a/methods/readme.txt", "no method");
    cr_assert(read_folder(scratch, "sites/a", arena, &site, &program, &fault), "%s", fault.text);
    cr_assert_eq(site.method_count, 2);
    cr_expect(text_is(settings_method(&site, TEXT("strip"))->analyte, "from the site"));
    cr_expect(text_is(settings_method(&site, TEXT("strip"))->where.file, "methods/strip.yaml"));
}

Test(settings, a_lone_site_has_no_program)
{
    AUTO(scratch) scratch = scratch_new();
    AUTO(arena) arena = arena_new();
    struct site_settings site;
    struct program_settings program;
    struct fault fault;
    scratch_write(scratch, "site.yaml", "site: anything\n");
    cr_assert(read_folder(scratch, "", arena, &site, &program, &fault), "%s", fault.text);
    cr_expect_null(program.program.data);
    cr_expect_eq(site.method_count, 0);
}

/* Messages begin with a path that can be opened from where the program was started. */
Test(settings, errors_of_folders_name_the_file)
{
    static const struct {
        const char *file, *text, *why;
    } vectors[] = {
        {"sites/a/site.yaml", "# no b\nsite: b\n", "/sites/a/site.yaml:2: site: b: must be the name of the folder, a"},
        {"sites/a/methods/strip.yaml", "method: strap\nwaived: true\nunit: x\n",
         "/sites/a/methods/strip.yaml:1: method: strap: must be the name of the file, strip"},
        {"methods/strip.yaml", "method: strip\nwaived: true\nunit: x\nroom: [a]\n",
         "/methods/strip.yaml:4: room: expected one value"},
        {"methods/more.yml", "", "/methods/more.yml:1: the name of a method file ends in .yaml"},
        {"methods/more.YAML", "", "/methods/more.YAML:1: the name of a method file ends in .yaml"},
        {"methods/empty.yaml", "", "/methods/empty.yaml:1: holds no settings"},
        {"program.yaml", "name: x\n", "/program.yaml:1: program: is missing"},
        {"program.yaml", "program: x\nexcused: {}\n", "/program.yaml:2: excused: unknown key"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        AUTO(scratch) scratch = program_new();
        AUTO(arena) arena = arena_new();
        struct site_settings site;
        struct program_settings program;
        struct fault fault;
        scratch_write(scratch, vectors[i].file, vectors[i].text);
        cr_expect_not(read_folder(scratch, "", arena, &site, &program, &fault), "%zu", i);
        cr_expect_eq(strncmp(fault.text, scratch->path, strlen(scratch->path)), 0, "%s", fault.text);
        cr_expect_str_eq(fault.text + strlen(scratch->path), vectors[i].why, "%s", fault.text);
    }
}

Test(settings, duties_have_their_names)
{
    static const char *const names[] = {"law", "insert", "policy", "accreditor", "practice"};
    for (int i = 0; i < DUTY_COUNT; i++) {
        enum duty duty;
        cr_expect_str_eq(duty_name((enum duty)i), names[i]);
        cr_assert(duty_named(text_of(names[i]), &duty));
        cr_expect_eq((int)duty, i);
    }
    enum duty duty;
    cr_expect_not(duty_named(TEXT("Law"), &duty));
}

/* The number in the middle is one; the others have a letter that is no digit, a small letter, too few and too many. */
Test(settings, what_cannot_be_meant_is_a_warning_with_file_line_and_key)
{
    static const char yaml[] = "site: x\n"
                               "menu:\n"
                               "  - strip\n"
                               "  - stirp\n"
                               "  - cassette\n"
                               "excused:\n"
                               "  F-7K2M9QX4TI: by mistake\n"
                               "  F-7K2M9QX4Tb: by mistake\n"
                               "  F-7K2M9QX4TB: answered on paper\n"
                               "  F-7K2M9QX4T: by mistake\n"
                               "  F-7K2M9QX4TBB: by mistake\n"
                               "  G-7K2M9QX4TB: by mistake\n";
    static const char *const methods[] = {"method: strip\nwaived: true\nunit: x\n",
                                          "method: cassette\nwaived: true\nwords: [yes]\n"};
    static const char *const begins[] = {"a/site.yaml:4: menu: stirp: there is no method file methods/stirp.yaml",
                                         "a/site.yaml:7: excused.F-7K2M9QX4TI: no finding has such a number: ",
                                         "a/site.yaml:8: excused.F-7K2M9QX4Tb: no finding has such a number: ",
                                         "a/site.yaml:10: excused.F-7K2M9QX4T: no finding has such a number: ",
                                         "a/site.yaml:11: excused.F-7K2M9QX4TBB: no finding has such a number: ",
                                         "a/site.yaml:12: excused.G-7K2M9QX4TB: no finding has such a number: "};
    const struct settings_source sources[] = {
        {"a/site.yaml", "site.yaml", yaml, strlen(yaml)},
        {"a/methods/strip.yaml", "methods/strip.yaml", methods[0], strlen(methods[0])},
        {"a/methods/cassette.yaml", "methods/cassette.yaml", methods[1], strlen(methods[1])}};
    AUTO(arena) arena = arena_new();
    struct site_settings site;
    struct fault fault = {0};
    cr_assert(settings_parse_site(sources, 3, arena, &site, &fault), "%s", fault.text);
    cr_assert_eq(site.warning_count, sizeof begins / sizeof *begins);
    for (size_t i = 0; i < site.warning_count; i++)
        cr_expect(text_starts(site.warnings[i], begins[i]), "%.*s", TEXT_FORMAT(site.warnings[i]));
}

Test(settings, a_site_without_menu_and_excuses_has_no_warnings)
{
    AUTO(arena) arena = arena_new();
    struct site_settings site;
    struct fault fault;
    cr_assert(parse_site("site: x\nmenu:\nexcused:\n", arena, &site, &fault), "%s", fault.text);
    cr_expect_eq(site.warning_count, 0);
}
