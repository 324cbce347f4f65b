/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <math.h>

#include "records/units.h"

static double converted(double value, const char *from, const char *to)
{
    double out = NAN;
    cr_expect(unit_convert(text_of(from), text_of(to), value, &out), "%s to %s", from, to);
    return out;
}

static void expect_near(double value, double wanted, double within)
{
    cr_expect(fabs(value - wanted) <= within, "%.10g is not %.10g", value, wanted);
}

/* NGSP, https://ngsp.org/ifcc.asp: NGSP % = 0.09148 · IFCC mmol/mol + 2.152. Its table rounds 48 mmol/mol to 6.5 %. */
Test(units, hba1c_follows_the_master_equation_of_ngsp)
{
    expect_near(converted(48, "mmol/mol", "%"), 0.09148 * 48 + 2.152, 1e-12);
    expect_near(converted(48, "mmol/mol", "%"), 6.5, 0.05);
    expect_near(converted(converted(7.1, "%", "mmol/mol"), "mmol/mol", "%"), 7.1, 1e-12);
}

/* Molar mass of glucose 180.156 g/mol: the sum of the standard atomic weights (IUPAC, abridged, 2021) of C6H12O6. */
Test(units, glucose_goes_by_its_molar_mass)
{
    expect_near(converted(18.0156, "mg/dL", "mmol/L"), 1, 1e-12);
    expect_near(converted(10, "mmol/L", "mg/dL"), 180.156, 1e-9);
}

/* 1 L = 10 dL, SI Brochure, 9th edition, table 7 (prefixes). */
Test(units, hemoglobin_goes_by_the_litre)
{
    expect_near(converted(13.5, "g/dL", "g/L"), 135, 1e-12);
    expect_near(converted(135, "g/L", "g/dL"), 13.5, 1e-12);
}

Test(units, a_unit_and_itself_are_a_pair) { expect_near(converted(2.5, "INR", "INR"), 2.5, 0); }

Test(units, unknown_pairs_are_not_converted)
{
    double out;
    cr_expect_not(unit_convert(TEXT("mg/dL"), TEXT("%"), 1, &out));
    cr_expect_not(unit_convert(TEXT("MG/DL"), TEXT("mmol/L"), 1, &out));
    cr_expect_not(unit_convert(TEXT(""), TEXT("mmol/L"), 1, &out));
}

Test(units, the_factor_of_glucose_is_for_glucose_only)
{
    struct text mass = TEXT("mg/dL"), moles = TEXT("mmol/L");
    cr_expect(unit_pair_known(mass, moles, TEXT("Glucose")));
    cr_expect(unit_pair_known(moles, mass, TEXT("blood glucose, capillary")));
    cr_expect(unit_pair_known(mass, moles, text_of(NULL)));
    cr_expect_not(unit_pair_known(mass, moles, TEXT("Total cholesterol")));
    cr_expect(unit_pair_known(TEXT("%"), TEXT("mmol/mol"), TEXT("Hemoglobin A1c")));
    cr_expect_not(unit_pair_known(TEXT("%"), TEXT("%"), text_of(NULL)));
}
