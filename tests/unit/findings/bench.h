/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A history made from the texts of logs and settings, without a store. */
#ifndef ASSIZE_TESTS_BENCH_H
#define ASSIZE_TESTS_BENCH_H

#include <criterion/criterion.h>

#include "findings/portrait.h"

struct bench {
    struct arena *arena;
    struct names *names;
    struct site_settings settings;
    struct history *history;
};

/* `method` may be NULL; it is methods/meter.yaml. */
void bench_open(struct bench *bench, const char *site, const char *method, const char *as_of);
void bench_log(struct bench *bench, enum kind_id kind, const char *csv);
struct portrait *bench_portrait(struct bench *bench, const char *from, const char *to);
void bench_close(struct bench *bench);
#define BENCH __attribute__((cleanup(bench_close))) struct bench

day_number day_of(const char *text);

#endif
