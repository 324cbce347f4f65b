/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "reports/html.h"
#include "reports/pictures/paint.h"
#include "reports/pictures/svg.h"

static const struct pen thin = {.stroke = INK_INK, .width = .5};

static const char *ended(struct output *output)
{
    output_bytes(output, "", 1);
    return output_taken(output).data;
}

/* One of each shape. */
static struct drawing *draw_all(struct arena *arena)
{
    struct drawing *drawing = drawing_new(arena, 100, 50, TEXT("Shapes"), TEXT("One of each."));
    struct point points[] = {{0, 0}, {10.126, 5}, {20, -.004}};
    drawing_line(drawing, points[0], points[1], thin);
    drawing_lines(drawing, points, 3, (struct pen){.stroke = INK_QUIET, .width = 1, .dash = DASH_LONG});
    drawing_area(drawing, points, 3, (struct pen){.fill = INK_TINT});
    points[1].x = 99; /* copied: changes nothing */
    drawing_box(drawing, (struct point){1, 2}, 3, 4, (struct pen){.fill = INK_PAPER, .stroke = INK_LINE, .width = .5});
    drawing_disc(drawing, (struct point){5, 6}, 2.5, (struct pen){.fill = INK_ACCENT});
    drawing_text(drawing, (struct point){7, 8}, 9, ANCHOR_MIDDLE, INK_INK, TEXT("mean"));
    drawing_strong(drawing, (struct point){7, 8}, 9, ANCHOR_END, INK_INK, TEXT("+2 SD"));
    return drawing;
}

Test(drawing, each_shape_is_written)
{
    AUTO(arena) arena = arena_new();
    AUTO(output) output = output_memory();
    svg_inline(draw_all(arena), 7, output);
    const char *svg = ended(output);
    static const char *const wanted[] = {
        "<svg role=\"img\" aria-labelledby=\"picture7-title picture7-says\" viewBox=\"0 0 100 50\" "
        "style=\"max-width:10rem\">",
        "<title id=\"picture7-title\">Shapes</title>\n<desc id=\"picture7-says\">One of each.</desc>",
        "<g fill=\"none\" stroke=\"var(--ink)\" stroke-width=\"0.5\">\n<polyline points=\"0,0 10.13,5\"/>\n</g>",
        "stroke-dasharray=\"5 3\">\n<polyline points=\"0,0 10.13,5 20,0\"/>",
        "<g fill=\"var(--tint)\">\n<polygon points=\"0,0 10.13,5 20,0\"/>",
        "<rect x=\"1\" y=\"2\" width=\"3\" height=\"4\"/>",
        "<circle cx=\"5\" cy=\"6\" r=\"2.5\"/>",
        "<text x=\"7\" y=\"8\" font-size=\"9\" text-anchor=\"middle\">mean</text>",
        "<text x=\"7\" y=\"8\" font-size=\"9\" text-anchor=\"end\" font-weight=\"600\">+2 SD</text>\n</g>\n</svg>",
    };
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        cr_expect_not_null(strstr(svg, wanted[i]), "%s in %s", wanted[i], svg);
}

Test(drawing, what_records_say_cannot_become_markup)
{
    AUTO(arena) arena = arena_new();
    struct text hostile = TEXT("</svg><script>\"'&\x01\x7f\xff\xef\xbf\xbf"
                               "\xc2\xb1");
    struct drawing *drawing = drawing_new(arena, 10, 10, hostile, hostile);
    drawing_text(drawing, (struct point){1, 1}, 9, ANCHOR_START, INK_INK, hostile);
    AUTO(output) output = output_memory();
    svg_inline(drawing, 1, output);
    svg_file(drawing, output);
    const char *svg = ended(output);
    const char *safe = ">&lt;/svg&gt;&lt;script&gt;&quot;&#39;&amp;\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd"
                       "\xc2\xb1</";
    size_t count = 0;
    for (const char *at = svg; (at = strstr(at, safe)) != NULL; at++)
        count++;
    cr_expect_eq(count, 6, "%zu in %s", count, svg);
    cr_expect_null(strstr(svg, "<script"));
    cr_expect(strpbrk(svg, "\x01\x7f\xff") == NULL);
}

Test(drawing, a_file_of_its_own_has_its_colours_for_light_and_dark)
{
    AUTO(arena) arena = arena_new();
    AUTO(output) output = output_memory();
    svg_file(draw_all(arena), output);
    const char *svg = ended(output);
    static const char *const wanted[] = {"<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=",
                                         "prefers-color-scheme: dark", "width=\"100pt\" height=\"50pt\""};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        cr_expect_not_null(strstr(svg, wanted[i]), "%s", wanted[i]);
}

Test(drawing, what_is_nowhere_is_left_out)
{
    AUTO(arena) arena = arena_new();
    struct drawing *drawing = drawing_new(arena, 10, 10, TEXT("Empty"), TEXT(""));
    struct point nowhere = {NAN, 1}, far = {1, INFINITY}, here = {1, 1};
    drawing_line(drawing, here, nowhere, thin);
    drawing_line(drawing, far, here, thin);
    drawing_lines(drawing, &here, 1, thin);
    drawing_lines(drawing, NULL, 0, thin);
    drawing_area(drawing, (struct point[]){here, here}, 2, thin);
    drawing_box(drawing, here, NAN, 1, thin);
    drawing_disc(drawing, here, NAN, thin);
    drawing_text(drawing, nowhere, 9, ANCHOR_START, INK_INK, TEXT("x"));
    drawing_strong(drawing, here, 9, ANCHOR_START, INK_INK, TEXT(""));
    cr_expect_null(drawing->first);
    AUTO(output) output = output_memory();
    svg_inline(drawing, 1, output);
    cr_expect_null(strstr(ended(output), "<g"));
}

Test(drawing, longer_texts_and_wider_letters_are_wider)
{
    cr_expect_eq(drawing_text_width(TEXT(""), 9), 0);
    cr_expect_lt(drawing_text_width(TEXT("ill"), 9), drawing_text_width(TEXT("mum"), 9));
    cr_expect_lt(drawing_text_width(TEXT("mean"), 8), drawing_text_width(TEXT("mean"), 9));
    cr_expect_lt(drawing_text_width(TEXT("\xc2\xb1"), 9), drawing_text_width(TEXT("m"), 9), "one letter, not two");
}

Test(drawing, a_png_is_as_large_as_asked_and_the_same_again)
{
    AUTO(arena) arena = arena_new();
    AUTO(output) one = output_memory();
    AUTO(output) other = output_memory();
    struct fault fault = {.code = FAULT_NONE};
    cr_assert(paint_png(draw_all(arena), 2, one, &fault));
    cr_assert(paint_png(draw_all(arena), 2, other, &fault));
    cr_expect(text_equal(output_taken(one), output_taken(other)));
    const char *head = output_taken(one).data;
    cr_expect_arr_eq(head, "\x89PNG", 4);
    cr_expect_eq((unsigned char)head[19], 200, "width");
    cr_expect_eq((unsigned char)head[23], 100, "height");
    cr_expect_not(paint_png(draw_all(arena), 1e6, other, &fault));
    cr_expect_eq(fault.code, FAULT_FILE);
}

Test(drawing, figures_of_a_page_are_numbered)
{
    AUTO(document) document = document_new(TEXT("Page"));
    document_section(document, TEXT("a"), SECTION_PLAIN);
    document_heading(document, TEXT("A"));
    document_figure(document, draw_all(document->arena));
    document_figure(document, draw_all(document->arena));
    document_close(document);
    AUTO(output) output = output_memory();
    html_write(document, output);
    const char *page = ended(output);
    cr_expect_not_null(strstr(page, "<figure>\n<figcaption aria-hidden=true>Shapes</figcaption>\n<svg role=\"img\" "
                                    "aria-labelledby=\"picture1-title"));
    cr_expect_not_null(strstr(page, "aria-labelledby=\"picture2-title"));
}
