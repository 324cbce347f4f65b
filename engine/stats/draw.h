/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A random draw that anyone can repeat: the same seed gives the same draw on every machine.
 *
 * Generator: SplitMix64, a counter in steps of 0x9E3779B97F4A7C15 whose value is mixed. Source: Steele GL, Lea D, Flood
 * CH. Fast splittable pseudorandom number generators. OOPSLA 2014; the mixing constants are those of Stafford's
 * "variant 13". It is no secret-keeping generator: the seed, not the draw, must be out of reach of who is reviewed. */
#ifndef ASSIZE_STATS_DRAW_H
#define ASSIZE_STATS_DRAW_H

#include <stddef.h>
#include <stdint.h>

struct generator {
    uint64_t state; /* the seed, at first */
};

uint64_t generator_next(struct generator *generator); /* each of 2^64 numbers as likely as any other */

/* A number from 0 to `count` - 1, each as likely: numbers at the end of the generator's range that would favour some
 * are thrown away. Domain: count >= 1; else 0. */
uint64_t generator_below(struct generator *generator, uint64_t count);

/* Draws `count` of the numbers 0 to `total` - 1 without putting back, in the order drawn, into `out`: each set of that
 * size as likely. A larger draw of the same seed begins with the smaller one, so a review can go on where it stopped.
 * All of them if count >= total. Returns how many. Source: the shuffle of Durstenfeld R, CACM 1964;7:420 (algorithm
 * 235), stopped after `count` steps. */
size_t draw_without_return(uint64_t seed, size_t total, size_t count, size_t *out);

#endif
