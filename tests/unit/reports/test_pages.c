/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "base/output.h"
#include "reports/paper/pages.h"

enum { HEIGHT = 100, LINE = 10 };

static struct extent lines(size_t count) { return (struct extent){.line = LINE, .lines = count}; }

/* What stands where: "0:0+3@0" is block 0, from its line 0 on, 3 lines, at 0 points; `*` a head that comes again; `|` a
 * new page. */
static const char *filled(const struct extent *extents, size_t count, char out[1000])
{
    struct pages pages = {0};
    pages_fill(&pages, extents, count, HEIGHT);
    char *at = out;
    size_t page = 0;
    *at = '\0';
    for (size_t i = 0; i < pages.piece_count; i++) {
        const struct piece *piece = &pages.pieces[i];
        for (; page < piece->page; page++)
            at += sprintf(at, "| ");
        at += sprintf(at, "%zu%s:%zu+%zu@%g ", piece->block, piece->again ? "*" : "", piece->first, piece->count,
                      piece->y);
    }
    cr_expect_eq(pages.page_count, page + 1);
    pages_clear(&pages);
    return out;
}

#define EXPECT(wanted, ...)                                                               \
    do {                                                                                  \
        const struct extent extents[] = {__VA_ARGS__};                                    \
        char out[1000];                                                                   \
        cr_expect_str_eq(filled(extents, sizeof extents / sizeof *extents, out), wanted); \
    } while (0)

static struct extent with(struct extent extent, const char *what)
{
    extent.keeps_next = strchr(what, 'k') != NULL;
    extent.whole = strchr(what, 'w') != NULL;
    extent.breaks = strchr(what, 'b') != NULL;
    extent.clears = strchr(what, 'c') != NULL;
    extent.before = strchr(what, '^') != NULL ? 5 : 0;
    return extent;
}

Test(pages, nothing_is_one_empty_page)
{
    struct pages pages = {0};
    pages_fill(&pages, NULL, 0, HEIGHT);
    cr_expect_eq(pages.page_count, 1);
    cr_expect_eq(pages.piece_count, 0);
    pages_clear(&pages);
}

Test(pages, blocks_follow_each_other_and_the_space_above_falls_away_on_top)
{
    EXPECT("0:0+3@0 1:0+2@35 ", with(lines(3), "^"), with(lines(2), "^"));
    EXPECT("0:0+10@0 | 1:0+2@0 ", lines(10), with(lines(2), "^"));
    EXPECT("0:0+8@0 1:0+2@80 ", lines(8), lines(2)); /* to the last point */
}

Test(pages, a_block_is_torn_with_two_lines_on_either_side)
{
    EXPECT("0:0+6@0 1:0+4@60 | 1:4+2@0 ", lines(6), lines(6));
    EXPECT("0:0+6@0 1:0+3@60 | 1:3+2@0 ", lines(6), lines(5)); /* not four and one */
    EXPECT("0:0+9@0 | 1:0+5@0 ", lines(9), lines(5));          /* not one and four */
    EXPECT("0:0+8@0 | 1:0+3@0 ", lines(8), lines(3));          /* three are not torn */
}

Test(pages, what_is_whole_moves_and_is_torn_only_if_taller_than_a_page)
{
    EXPECT("0:0+6@0 | 1:0+6@0 ", lines(6), with(lines(6), "w"));
    EXPECT("0:0+6@0 1:0+4@60 | 1:4+10@0 | 1:14+1@0 ", lines(6), with(lines(15), "w"));
}

Test(pages, a_heading_moves_with_what_follows)
{
    EXPECT("0:0+8@0 | 1:0+1@0 2:0+4@10 ", lines(8), with(lines(1), "k"), lines(4));
    EXPECT("0:0+7@0 1:0+1@70 2:0+2@80 | 2:2+2@0 ", lines(7), with(lines(1), "k"), lines(4));
    EXPECT("0:0+6@0 | 1:0+1@0 2:0+1@10 3:0+3@20 ", lines(6), with(lines(1), "k"), with(lines(1), "k"),
           with(lines(3), "w"));
    /* what keeps together and is taller than a page is filled as it comes */
    EXPECT("0:0+1@0 1:0+6@10 | 2:0+6@0 ", lines(1), with(lines(6), "k"), with(lines(6), "w"));
}

Test(pages, the_head_of_a_table_comes_again)
{
    struct extent row = with(lines(4), "w");
    row.head = 1;
    EXPECT("0:0+1@0 1:0+4@10 2:0+4@50 | 0*:0+1@0 3:0+4@10 ", with(lines(1), "k"), row, row, row);
    struct extent tall = with(lines(12), "w");
    tall.head = 1;
    EXPECT("0:0+1@0 1:0+9@10 | 0*:0+1@0 1:9+3@10 ", with(lines(1), "k"), tall);
}

Test(pages, what_breaks_begins_a_page_but_no_empty_one)
{
    EXPECT("0:0+1@0 | 1:0+1@0 ", lines(1), with(lines(1), "b"));
    EXPECT("0:0+1@0 ", with(lines(1), "b"));
}

Test(pages, what_hangs_in_the_margin_pushes_only_what_needs_the_margin)
{
    struct extent hung = lines(1);
    hung.hang = 30;
    EXPECT("0:0+1@0 1:0+1@10 2:0+1@35 ", hung, lines(1), with(lines(1), "c^"));
    EXPECT("0:0+8@0 | 1:0+1@0 ", lines(8), hung); /* it is not cut off at the foot */
    hung.keeps_next = true;
    EXPECT("0:0+7@0 | 1:0+1@0 2:0+3@10 3:0+1@40 ", lines(7), hung, with(lines(3), "w"), with(lines(1), "c"));
}

Test(pages, a_block_without_lines_and_one_higher_than_a_page_are_placed_too)
{
    EXPECT("0:0+0@0 1:0+1@0 ", lines(0), lines(1));
    EXPECT("0:0+1@0 | 1:0+1@0 | 2:0+1@0 ", lines(1), ((struct extent){.line = 300, .lines = 1}), lines(1));
}
