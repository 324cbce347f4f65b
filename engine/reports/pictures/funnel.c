/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/pictures/funnel.h"

#include <math.h>
#include <stdlib.h>

#include "reports/phrases.h"
#include "reports/pictures/axes.h"
#include "stats/intervals.h"
#include "stats/tails.h"

enum { WIDTH = 360, LEFT = 34, RIGHT = 318, TOP = 14, BOTTOM = 176, HEIGHT = 222, CURVE = 90, MOST_NAMED = 8 };
enum { WITHIN, BEYOND_95, BEYOND_998 };

static const double tails[] = {0.025, 0.001};
static const struct pen quiet_line = {.stroke = INK_QUIET, .width = .5};

struct plotted { /* a site */
    const struct site_result *site;
    uint64_t tests, bad;
    double share;
    int beyond;
    bool high; /* beyond the upper limit */
};

struct funnel_plan {
    struct arena *arena;
    const struct audit *audit;
    struct plotted *sites; /* the largest first, so that small ones are drawn over them */
    size_t count, left_out, beyond[BEYOND_998 + 1];
    uint64_t tests, bad, most; /* most: of a site */
    double pooled, top;        /* shares; top: of the scale */
};

/* ---- what is shown ---- */

static int by_tests(const void *a, const void *b)
{
    const struct plotted *x = a, *y = b;
    if (x->tests != y->tests)
        return x->tests < y->tests ? 1 : -1;
    return text_compare(x->site->site, y->site->site);
}

static void take_sites(struct funnel_plan *plan)
{
    plan->sites = arena_take(plan->arena, (plan->audit->site_count + 1) * sizeof *plan->sites);
    for (size_t i = 0; i < plan->audit->site_count; i++) {
        const struct site_result *site = &plan->audit->sites[i];
        if (site->missing || site->tests == 0) {
            plan->left_out++;
            continue;
        }
        uint64_t bad = site->tests - site->tests_vouched;
        plan->sites[plan->count++] = (struct plotted){
            .site = site, .tests = site->tests, .bad = bad, .share = (double)bad / (double)site->tests};
        plan->tests += site->tests;
        plan->bad += bad;
        plan->most = site->tests > plan->most ? site->tests : plan->most;
    }
    if (plan->count > 0)
        qsort(plan->sites, plan->count, sizeof *plan->sites, by_tests);
    plan->pooled = plan->tests > 0 ? (double)plan->bad / (double)plan->tests : 0;
}

/* How likely as many or more results, or as few or fewer, are if the site is like all others. The limits that are drawn
 * run smoothly between whole counts; for a site of few tests only its own count decides. */
static void judge_site(const struct funnel_plan *plan, struct plotted *site)
{
    double tests = (double)site->tests, bad = (double)site->bad;
    double as_many = binomial_upper(bad, tests, plan->pooled);
    double as_few = binomial_lower(bad, tests, plan->pooled);
    site->high = as_many < as_few;
    for (int k = 0; k < 2; k++)
        if (fmin(as_many, as_few) < tails[k])
            site->beyond = k == 0 ? BEYOND_95 : BEYOND_998;
}

static void judge_sites(struct funnel_plan *plan)
{
    for (size_t i = 0; i < plan->count; i++) {
        judge_site(plan, &plan->sites[i]);
        plan->beyond[plan->sites[i].beyond]++;
    }
}

/* High enough for every site, and for the limits of a site of middling size. */
static double top_of(const struct funnel_plan *plan)
{
    double top = 0;
    for (size_t i = 0; i < plan->count; i++)
        top = fmax(top, plan->sites[i].share * 1.08);
    if (plan->most > 0)
        top = fmax(top, funnel_limits(plan->pooled, 1 + plan->most / 8, tails[1]).high);
    return fmin(fmax(top, .01), 1);
}

/* ---- words ---- */

static struct text named_of(const struct funnel_plan *plan, bool high)
{
    struct text named = {"", 0};
    size_t count = 0;
    for (size_t i = 0; i < plan->count; i++) {
        const struct plotted *site = &plan->sites[i];
        if (site->beyond != BEYOND_998 || site->high != high || ++count > MOST_NAMED)
            continue;
        named =
            text_print(plan->arena, "%.*s%s%.*s (%.*s of %.*s)", TEXT_FORMAT(named), count == 1 ? "" : ", ",
                       TEXT_FORMAT(site->site->site), TEXT_FORMAT(phrase_share(plan->arena, site->bad, site->tests)),
                       TEXT_FORMAT(phrase_count(plan->arena, site->tests, "test", "tests")));
    }
    if (count == 0)
        return TEXT("none");
    return count > MOST_NAMED ? text_print(plan->arena, "%.*s and %zu more", TEXT_FORMAT(named), count - MOST_NAMED)
                              : named;
}

static struct text left_out_of(const struct funnel_plan *plan)
{
    if (plan->left_out == 0)
        return (struct text){NULL, 0};
    return text_print(plan->arena, "Not shown: %.*s without tests or not audited",
                      TEXT_FORMAT(phrase_count(plan->arena, plan->left_out, "site", "sites")));
}

static struct text description_of(const struct funnel_plan *plan)
{
    struct text left_out = left_out_of(plan);
    if (plan->count == 0)
        return text_print(plan->arena, "No site has tests in this period. %.*s", TEXT_FORMAT(left_out));
    return text_print(
        plan->arena,
        "%.*s; together %.*s of %.*s are not vouched for. Limits of chance around that share: 95 %% and 99.8 %%. Above "
        "the upper 99.8 %% limit: %.*s. Below the lower one: %.*s. Between the 95 %% and the 99.8 %% limits, where "
        "chance alone puts about one site in twenty: %zu.%s%.*s",
        TEXT_FORMAT(phrase_count(plan->arena, plan->count, "site", "sites")),
        TEXT_FORMAT(phrase_share(plan->arena, plan->bad, plan->tests)),
        TEXT_FORMAT(phrase_count(plan->arena, plan->tests, "result", "results")), TEXT_FORMAT(named_of(plan, true)),
        TEXT_FORMAT(named_of(plan, false)), plan->beyond[BEYOND_95], left_out.size > 0 ? " " : "",
        TEXT_FORMAT(left_out));
}

/* ---- the picture ---- */

struct funnel_picture {
    const struct funnel_plan *plan;
    struct drawing *drawing;
    struct scale tests, shares;
    struct labels labels;
};

static void draw_axes(const struct funnel_picture *picture)
{
    const struct funnel_plan *plan = picture->plan;
    struct drawing *drawing = picture->drawing;
    double step, first;
    size_t count = round_ticks(0, plan->top * 100, 5, &step, &first);
    for (size_t i = 0; i < count; i++) {
        double percent = (double)i * step;
        struct text label =
            text_print(drawing->arena, "%.*s %%", TEXT_FORMAT(round_print(drawing->arena, percent, step, "−")));
        drawing_text(drawing, (struct point){LEFT - 5, scale_at(&picture->shares, percent / 100) + 2.8}, AXIS_LETTERS,
                     ANCHOR_END, INK_QUIET, label);
    }
    count = round_ticks(0, picture->tests.high, 6, &step, &first);
    for (size_t i = 0; i < count; i++) {
        double tests = (double)i * step, x = scale_at(&picture->tests, tests);
        if (tests != floor(tests))
            continue;
        drawing_line(drawing, (struct point){x, BOTTOM}, (struct point){x, BOTTOM + 2.5}, quiet_line);
        drawing_text(drawing, (struct point){x, BOTTOM + AXIS_LETTERS + 3}, AXIS_LETTERS, ANCHOR_MIDDLE, INK_QUIET,
                     phrase_number(drawing->arena, (uint64_t)tests));
    }
    drawing_line(drawing, (struct point){LEFT, BOTTOM}, (struct point){RIGHT, BOTTOM}, quiet_line);
    drawing_text(drawing, (struct point){RIGHT, BOTTOM + 23}, AXIS_LETTERS, ANCHOR_END, INK_QUIET,
                 TEXT("patient tests of the site"));
    drawing_text(drawing, (struct point){LEFT, 6}, AXIS_LETTERS, ANCHOR_START, INK_QUIET,
                 TEXT("share of results not vouched for"));
}

/* One limit over all sizes; what leaves the scale at its top is cut there. */
static void draw_limit(struct funnel_picture *picture, double tail, bool high, struct pen pen)
{
    const struct funnel_plan *plan = picture->plan;
    struct point points[CURVE];
    size_t count = 0;
    uint64_t before = 0;
    for (int i = 0; i < CURVE; i++) {
        double part = (i + 1.0) / CURVE; /* close together where sites are small and the limits bend */
        uint64_t tests = (uint64_t)ceil(picture->tests.high * part * part);
        struct interval limits = funnel_limits(plan->pooled, tests, tail);
        double share = high ? limits.high : limits.low;
        if (tests == before || isnan(share) || share > plan->top)
            continue;
        points[count++] = (struct point){scale_at(&picture->tests, (double)tests), scale_at(&picture->shares, share)};
        before = tests;
    }
    drawing_lines(picture->drawing, points, count, pen);
    for (size_t i = 1; i < count; i++)
        labels_avoid_line(&picture->labels, points[i - 1], points[i]);
}

static void draw_limits(struct funnel_picture *picture)
{
    static const struct pen pens[] = {{.stroke = INK_QUIET, .width = .6, .dash = DASH_LONG},
                                      {.stroke = INK_QUIET, .width = .8}};
    for (int k = 0; k < 2; k++)
        for (int high = 0; high < 2; high++)
            draw_limit(picture, tails[k], high, pens[k]);
    double y = scale_at(&picture->shares, picture->plan->pooled);
    drawing_line(picture->drawing, (struct point){LEFT, y}, (struct point){RIGHT, y},
                 (struct pen){.stroke = INK_INK, .width = .8});
    labels_avoid_line(&picture->labels, (struct point){LEFT, y}, (struct point){RIGHT, y});
}

/* What the lines are called, at their right ends, kept apart. */
static void name_limits(const struct funnel_picture *picture)
{
    const struct funnel_plan *plan = picture->plan;
    uint64_t tests = (uint64_t)picture->tests.high;
    double heights[] = {
        scale_at(&picture->shares, funnel_limits(plan->pooled, tests, tails[1]).high),
        scale_at(&picture->shares, funnel_limits(plan->pooled, tests, tails[0]).high),
        scale_at(&picture->shares, plan->pooled),
    };
    const struct text names[] = {
        TEXT("99.8 %"), TEXT("95 %"),
        text_print(picture->drawing->arena, "all %.*s",
                   TEXT_FORMAT(phrase_share(picture->drawing->arena, plan->bad, plan->tests)))};
    labels_spread(heights, 3, AXIS_LETTERS);
    for (size_t i = 0; i < 3; i++)
        drawing_text(picture->drawing, (struct point){RIGHT + 4, heights[i] + 2.8}, AXIS_LETTERS, ANCHOR_START,
                     i == 2 ? INK_INK : INK_QUIET, names[i]);
}

static struct point place_of(const struct funnel_picture *picture, const struct plotted *site)
{
    return (struct point){scale_at(&picture->tests, (double)site->tests), scale_at(&picture->shares, site->share)};
}

/* Within the limits: a small hollow ring. Beyond the inner ones: a dot. Beyond the outer ones: a large diamond. */
static void draw_site(const struct funnel_picture *picture, struct point at, int beyond)
{
    static const struct pen within = {.stroke = INK_QUIET, .fill = INK_PAPER, .width = .6};
    if (beyond == BEYOND_998) {
        const struct point corners[] = {{at.x, at.y - 4}, {at.x + 4, at.y}, {at.x, at.y + 4}, {at.x - 4, at.y}};
        drawing_area(picture->drawing, corners, 4, (struct pen){.fill = INK_ACCENT});
    } else if (beyond == BEYOND_95) {
        drawing_disc(picture->drawing, at, 2, (struct pen){.fill = INK_INK});
    } else {
        drawing_disc(picture->drawing, at, picture->plan->count > 100 ? 1.3 : 1.8, within);
    }
}

static void draw_sites(struct funnel_picture *picture)
{
    const struct funnel_plan *plan = picture->plan;
    for (int beyond = WITHIN; beyond <= BEYOND_998; beyond++)
        for (size_t i = 0; i < plan->count; i++) {
            struct point at = place_of(picture, &plan->sites[i]);
            if (plan->sites[i].beyond != beyond)
                continue;
            draw_site(picture, at, beyond);
            labels_avoid(&picture->labels, (struct box){at.x - 2, at.y - 2, at.x + 2, at.y + 2});
        }
    for (int beyond = BEYOND_998; beyond > WITHIN; beyond--)
        for (size_t i = 0; i < plan->count; i++)
            if (plan->sites[i].beyond == beyond)
                labels_draw(&picture->labels, picture->drawing, place_of(picture, &plan->sites[i]),
                            plan->sites[i].site->site, plan->sites[i].high, false,
                            beyond == BEYOND_998 ? INK_ACCENT : INK_INK);
}

static double draw_key_entry(const struct funnel_picture *picture, double x, int beyond, const char *words)
{
    size_t count = picture->plan->beyond[beyond];
    if (count == 0)
        return x;
    struct text key = text_print(picture->drawing->arena, "%zu %s", count, words);
    draw_site(picture, (struct point){x + 4, BOTTOM + 37.4}, beyond);
    drawing_text(picture->drawing, (struct point){x + 11, BOTTOM + 40}, AXIS_LETTERS, ANCHOR_START, INK_QUIET, key);
    return x + 11 + drawing_text_width(key, AXIS_LETTERS) + 8;
}

static void draw_key(const struct funnel_picture *picture)
{
    double x = draw_key_entry(picture, LEFT, WITHIN, "within chance");
    x = draw_key_entry(picture, x, BEYOND_95, "beyond 95 %");
    draw_key_entry(picture, x, BEYOND_998, "beyond 99.8 %");
    drawing_text(picture->drawing, (struct point){LEFT, BOTTOM + 52}, AXIS_LETTERS, ANCHOR_START, INK_QUIET,
                 left_out_of(picture->plan));
}

struct drawing *funnel(struct arena *arena, const struct audit *audit)
{
    struct funnel_plan plan = {.arena = arena, .audit = audit};
    take_sites(&plan);
    judge_sites(&plan);
    plan.top = top_of(&plan);
    struct text title = text_print(arena, "Results not vouched for, by site, %.*s",
                                   TEXT_FORMAT(phrase_period(arena, audit->from, audit->to)));
    struct funnel_picture picture = {
        .plan = &plan,
        .drawing = drawing_new(arena, WIDTH, HEIGHT + (plan.left_out > 0 ? 12 : 0), title, description_of(&plan)),
        .tests = {0, fmax(1, (double)plan.most * 1.05), LEFT, RIGHT},
        .shares = {0, plan.top, BOTTOM, TOP},
        .labels = labels_new(arena, (struct box){LEFT, TOP - 6, WIDTH, BOTTOM}, 2048),
    };
    if (plan.count == 0) {
        drawing_text(picture.drawing, (struct point){LEFT, 40}, 10, ANCHOR_START, INK_QUIET,
                     TEXT("No site has tests in this period."));
        return picture.drawing;
    }
    draw_axes(&picture);
    draw_limits(&picture);
    name_limits(&picture);
    draw_sites(&picture);
    draw_key(&picture);
    return picture.drawing;
}
