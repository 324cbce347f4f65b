/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Published tables of the trade's quantities, through the engine's own conversions. */
#include "stats/quantities.h"

#include <criterion/criterion.h>

#include "near.h"
#include "published.h"
#include "records/units.h"

/* A tie is rounded up, as in the tables; decimals that are no doubles must not miss it. */
static double half_up(double value, double unit) { return floor(value / unit + 0.5 + 1e-9) * unit; }

static double converted(double value, const char *from, const char *to)
{
    double out = NAN;
    cr_expect(unit_convert(text_of(from), text_of(to), value, &out));
    return out;
}

/* Source: Nathan DM et al. Diabetes Care 2008;31:1473-8, table 2 (11 and 12 % from memory): mg/dL and mmol/L. */
Test(quantities, estimated_average_glucose_gives_the_published_table)
{
    static const struct {
        double hba1c, mg_dl, mmol_l;
    } rows[] = {{5, 97, 5.4},   {6, 126, 7.0},   {7, 154, 8.6},   {8, 183, 10.2},
                {9, 212, 11.8}, {10, 240, 13.4}, {11, 269, 14.9}, {12, 298, 16.5}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        double mg = half_up(estimated_average_glucose(rows[i].hba1c), 1);
        double mmol = half_up(estimated_average_glucose_mmol(rows[i].hba1c), 0.1);
        cr_expect(mg == rows[i].mg_dl, "%g %%: %g mg/dL", rows[i].hba1c, mg);
        cr_expect(is_near(mmol, rows[i].mmol_l, 1e-9), "%g %%: %g mmol/L", rows[i].hba1c, mmol);
    }
}

/* Source: pairs of the NGSP and IFCC tables, https://ngsp.org/ifcc.asp (pairs from memory, recomputed by both forms of
 * the master equation, which agree when rounded). */
Test(quantities, hba1c_in_both_units_gives_the_published_pairs)
{
    static const struct {
        double percent, mmol_mol;
    } rows[] = {{4.0, 20},  {5.0, 31},  {5.7, 39},   {6.0, 42},   {6.4, 46},  {6.5, 48},
                {7.0, 53},  {7.5, 58},  {8.0, 64},   {8.5, 69},   {9.0, 75},  {9.5, 80},
                {10.0, 86}, {11.0, 97}, {12.0, 108}, {13.0, 119}, {14.0, 130}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        double found = converted(rows[i].percent, "%", "mmol/mol");
        cr_expect(half_up(found, 1) == rows[i].mmol_mol, "%g %%: %f", rows[i].percent, found);
        cr_expect(half_up(10.93 * rows[i].percent - 23.5, 1) == rows[i].mmol_mol, "the other form, row %zu", i);
    }
}

/* Source: the same table, back from whole mmol/mol by 0.09148·x + 2.152: several of them share a rounded percent. */
Test(quantities, whole_mmol_per_mol_go_back_to_percent)
{
    static const struct {
        double mmol_mol, percent, rounded;
    } rows[] = {{20, 3.9816, 4.0}, {31, 4.9879, 5.0}, {47, 6.4516, 6.5}, {48, 6.5430, 6.5},    {53, 7.0004, 7.0},
                {58, 7.4578, 7.5}, {59, 7.5493, 7.5}, {75, 9.0130, 9.0}, {108, 12.0318, 12.0}, {130, 14.0444, 14.0}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        double found = converted(rows[i].mmol_mol, "mmol/mol", "%");
        cr_expect(is_near(found, rows[i].percent, 5e-5), "%g: %f", rows[i].mmol_mol, found);
        cr_expect(is_near(half_up(found, 0.1), rows[i].rounded, 1e-9), "%g: %f", rows[i].mmol_mol, found);
    }
}

/* Source: molar mass 180.156 g/mol; the one-decimal row is the trade's (from memory) and the same by the factor 18. */
Test(quantities, glucose_in_both_units)
{
    static const struct {
        double mg_dl, mmol_l, rounded;
    } rows[] = {{40, 2.220, 2.2},    {54, 2.997, 3.0},    {60, 3.330, 3.3},    {70, 3.886, 3.9},
                {100, 5.551, 5.6},   {126, 6.994, 7.0},   {140, 7.771, 7.8},   {180, 9.991, 10.0},
                {200, 11.102, 11.1}, {300, 16.652, 16.7}, {500, 27.754, 27.8}, {600, 33.305, 33.3}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        double found = converted(rows[i].mg_dl, "mg/dL", "mmol/L");
        /* 54, 126 and others are given by 18.0156 there, some by 18.016: they part in the third decimal at most */
        cr_expect(is_near(found, rows[i].mmol_l, 0.0011), "%g: %f", rows[i].mg_dl, found);
        cr_expect(is_near(half_up(found, 0.1), rows[i].rounded, 1e-9), "%g: %f", rows[i].mg_dl, found);
        cr_expect(is_near(half_up(rows[i].mg_dl / 18, 0.1), rows[i].rounded, 1e-9), "by 18: %g", rows[i].mg_dl);
    }
    static const double back[][2] = {{3.9, 70.3}, {7.0, 126.1}, {11.1, 200.0}, {33.3, 599.9}};
    for (size_t i = 0; i < COUNT(back); i++)
        cr_expect(is_near(converted(back[i][0], "mmol/L", "mg/dL"), back[i][1], 0.05), "%g", back[i][0]);
}

/* Source: 1 dL = 0.1 L: 12 g/dL = 120 g/L. */
Test(quantities, hemoglobin_in_both_units) { cr_expect(is_near(converted(12, "g/dL", "g/L"), 120, 1e-12)); }

/* Source: letter in Diabetic Medicine (2011), that a CV does not carry over: 5 % in IFCC units are about 4 % in NGSP
 * units at 100 mmol/mol and about 3 % at 40. The slope alone scales the SD. */
Test(quantities, a_cv_does_not_carry_over_between_hba1c_units)
{
    static const double rows[][2] = {{100, 4.048}, {40, 3.148}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        double sd = 0.05 * rows[i][0], middle = converted(rows[i][0], "mmol/mol", "%");
        double sd_percent = converted(rows[i][0] + sd, "mmol/mol", "%") - middle;
        cr_expect(is_near(100 * sd_percent / middle, rows[i][1], 5e-4), "%g: %f", rows[i][0],
                  100 * sd_percent / middle);
    }
}
