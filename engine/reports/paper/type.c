/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/paper/type.h"

#include <string.h>

#include "base/output.h"
#include "base/utf8.h"

#define FAMILY "Liberation Serif"
static const double FACE_SIZE = 100; /* points; widths are measured at it */

static PangoFontDescription *describe(double size, bool strong)
{
    PangoFontDescription *description = pango_font_description_from_string(FAMILY);
    pango_font_description_set_absolute_size(description, size * PANGO_SCALE);
    pango_font_description_set_weight(description, strong ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    return description;
}

/* Width at one point, or a negative number for a character that the font lacks. */
static double advance(const struct face *face, uint32_t character)
{
    hb_codepoint_t glyph;
    if (!hb_font_get_nominal_glyph(face->letters, character, &glyph))
        return -1;
    return hb_font_get_glyph_h_advance(face->letters, glyph) / (double)PANGO_SCALE / FACE_SIZE;
}

static bool load_face(struct type *type, bool strong, struct fault *fault)
{
    struct face *face = &type->faces[strong];
    PangoFontDescription *wanted = describe(FACE_SIZE, strong);
    face->font = pango_font_map_load_font(type->map, type->context, wanted);
    pango_font_description_free(wanted);
    PangoFontDescription *found = face->font ? pango_font_describe(face->font) : NULL;
    bool is_it = found && strcmp(pango_font_description_get_family(found), FAMILY) == 0;
    pango_font_description_free(found);
    if (!is_it)
        return fault_set(fault, FAULT_FILE,
                         "the font " FAMILY " is missing, which PDF files need: install the package fonts-liberation");
    face->letters = pango_font_get_hb_font(face->font);
    for (uint32_t character = 0; character < 128; character++)
        face->ascii[character] = advance(face, character);
    return true;
}

static void new_context(struct type *type)
{
    type->map = pango_cairo_font_map_new();
    pango_cairo_font_map_set_resolution((PangoCairoFontMap *)type->map, 72); /* a unit is a point */
    type->context = pango_font_map_create_context(type->map);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    pango_cairo_context_set_font_options(type->context, options);
    cairo_font_options_destroy(options);
    pango_context_set_round_glyph_positions(type->context, false);
    pango_context_set_language(type->context, pango_language_from_string("en"));
    type->layout = pango_layout_new(type->context);
    pango_layout_set_wrap(type->layout, PANGO_WRAP_WORD_CHAR);
    pango_layout_set_auto_dir(type->layout, false);
}

bool type_new(struct type **out, struct fault *fault)
{
    struct type *type = memory_new(sizeof *type);
    type->text = output_memory();
    new_context(type);
    if (!load_face(type, false, fault) || !load_face(type, true, fault)) {
        type_free(type);
        return false;
    }
    *out = type;
    return true;
}

static void unref(void *object)
{
    if (object != NULL)
        g_object_unref(object);
}

void type_free(struct type *type)
{
    if (type == NULL)
        return;
    unref(type->layout);
    unref(type->faces[0].font);
    unref(type->faces[1].font);
    unref(type->context);
    unref(type->map);
    output_free(type->text);
    memory_free(type->spans);
    memory_free(type);
}

/* ---- words with their attributes ---- */

double type_shape_width(enum node_kind kind, double size) { return (kind == NODE_TICK ? 1.5 : 1.08) * size; }

static void attribute(PangoAttrList *list, PangoAttribute *attribute, size_t start, size_t end)
{
    attribute->start_index = (guint)start;
    attribute->end_index = (guint)end;
    pango_attr_list_insert(list, attribute);
}

static void reserve_shape(PangoAttrList *list, enum node_kind kind, double size, size_t start, size_t end)
{
    PangoRectangle box = {.y = (int)(-size * PANGO_SCALE / 2), .height = (int)(size * PANGO_SCALE / 2)};
    box.width = (int)(type_shape_width(kind, size) * PANGO_SCALE);
    attribute(list, pango_attr_shape_new(&box, &box), start, end);
}

/* Pango cuts its runs where attributes change, so each kind of span has one that its neighbours have not. */
static void attribute_span(PangoAttrList *list, const struct span *span, size_t start)
{
    enum node_kind kind = span->node ? span->node->kind : NODE_TEXT;
    if (span->is_unknown)
        attribute(list, pango_attr_foreground_new(1, 1, 1), start, span->end);
    if (kind == NODE_LINK)
        attribute(list, pango_attr_foreground_new(0, 0, 1), start, span->end);
    if (kind == NODE_STRONG)
        attribute(list, pango_attr_weight_new(PANGO_WEIGHT_BOLD), start, span->end);
    if (kind == NODE_MARK || kind == NODE_TICK)
        attribute(list, pango_attr_allow_breaks_new(false), start, span->end);
}

/* What a character is set as: itself, a blank, or a question mark in a span of its own. */
static bool is_set_as_itself(const struct type *type, uint32_t number)
{
    enum { NO_BREAK_BLANK = 0xa0 };
    return (utf8_is_printable(number) || number == NO_BREAK_BLANK) && advance(&type->faces[0], number) >= 0;
}

static void end_span(struct type *type, const struct node *node, bool is_unknown)
{
    size_t end = output_taken(type->text).size, start = 0;
    if (type->span_count > 0)
        start = type->spans[type->span_count - 1].end;
    if (end == start)
        return;
    VECTOR_GROW(type->spans, type->span_count, type->span_capacity);
    type->spans[type->span_count++] = (struct span){.end = end, .node = node, .is_unknown = is_unknown};
}

static bool is_plain_ascii(struct text text)
{
    for (size_t i = 0; i < text.size; i++)
        if (text.data[i] < ' ' || text.data[i] > '~')
            return false;
    return true;
}

enum { UNBROKEN_MOST = 64, BROKEN_EVERY = 16 }; /* letters */
enum { BOXES_UP_TO = 16 }; /* a box is drawn by itself, which takes long: past so many they are question marks */

/* In bytes. */
static bool has_long_word(struct text text)
{
    size_t letters = 0;
    for (size_t i = 0; i < text.size && letters <= UNBROKEN_MOST; i++)
        letters = text.data[i] == ' ' ? 0 : letters + 1;
    return letters > UNBROKEN_MOST;
}

/* To tear a word Pango shapes what is left of it again for each line, which takes minutes for one of 100,000 letters:
 * so where there is a long one, words get places to break at, which nobody sees. The letters since the last one. */
static size_t break_word(struct type *type, size_t letters)
{
    if (letters < BROKEN_EVERY)
        return letters + 1;
    output_text(type->text, TEXT("\xE2\x80\x8B")); /* U+200B */
    return 1;
}

/* Each change between two scripts begins a run of its own, too: nobody's words have so many. */
struct scripts {
    GUnicodeScript last;
    unsigned changes;
};
enum { SCRIPT_CHANGES_MOST = 24 };

static bool goes_on_in_script(struct scripts *scripts, uint32_t number)
{
    GUnicodeScript script = g_unichar_get_script(number);
    if (script == G_UNICODE_SCRIPT_COMMON || script == G_UNICODE_SCRIPT_INHERITED || script == scripts->last)
        return true;
    if (scripts->changes > SCRIPT_CHANGES_MOST)
        return false;
    scripts->changes++;
    scripts->last = script;
    return true;
}

static void add_text(struct type *type, struct text text, const struct node *node)
{
    enum { SOFT_HYPHEN = 0xad };
    bool breaks = has_long_word(text);
    if (is_plain_ascii(text) && !breaks) {
        output_text(type->text, text);
        end_span(type, node, false);
        return;
    }
    struct scripts scripts = {.last = G_UNICODE_SCRIPT_COMMON};
    bool in_box = false;
    size_t letters = 0;
    for (size_t size; text.size > 0; text = (struct text){text.data + size, text.size - size}) {
        uint32_t number;
        bool valid = utf8_first(text, &number, &size),
             blank = valid && (number == '\n' || number == '\t' || number == '\r');
        if (valid && number == SOFT_HYPHEN) /* an id is not torn there, and each takes long to set */
            continue;
        bool unknown = !blank && (!valid || !is_set_as_itself(type, number) || !goes_on_in_script(&scripts, number));
        type->unknown += unknown;
        bool boxed = unknown && type->span_count < BOXES_UP_TO;
        if (boxed != in_box)
            end_span(type, node, in_box);
        in_box = boxed;
        letters = !breaks || blank || number == ' ' ? 0 : break_word(type, letters);
        if (unknown || blank)
            output_text(type->text, unknown ? TEXT("?") : TEXT(" "));
        else
            output_bytes(type->text, text.data, size);
    }
    end_span(type, node, in_box);
}

/* In the margin what follows a mark stands below it. */
static void add_node(struct type *type, const struct node *node, bool is_margin)
{
    if (node->kind == NODE_MARK || node->kind == NODE_TICK) {
        output_text(type->text, TEXT(SHAPE_PLACE)); /* the place of the shape */
        end_span(type, node, false);
    }
    add_text(type, node->text, node);
    if (is_margin && node->kind == NODE_MARK && node->next != NULL) {
        output_text(type->text, TEXT("\n"));
        end_span(type, NULL, false);
    }
}

static PangoAttrList *attributes_of(const struct type *type)
{
    PangoAttrList *list = pango_attr_list_new();
    attribute(list, pango_attr_fallback_new(false), 0, PANGO_ATTR_INDEX_TO_TEXT_END);
    attribute(list, pango_attr_insert_hyphens_new(false), 0, PANGO_ATTR_INDEX_TO_TEXT_END); /* a torn id is no other */
    attribute(list, pango_attr_font_features_new("liga=0, clig=0"), 0, PANGO_ATTR_INDEX_TO_TEXT_END);
    const char *bytes = output_taken(type->text).data;
    size_t start = 0;
    for (size_t i = 0; i < type->span_count; start = type->spans[i++].end) {
        const struct span *span = &type->spans[i];
        attribute_span(list, span, start);
        if (span->node && (span->node->kind == NODE_MARK || span->node->kind == NODE_TICK) &&
            memcmp(bytes + start, SHAPE_PLACE, 3) == 0)
            reserve_shape(list, span->node->kind, type->style->size, start, span->end);
    }
    return list;
}

void type_set(struct type *type, const struct style *style, struct text text, const struct node *node, double width)
{
    output_free(type->text);
    type->text = output_memory();
    type->span_count = 0;
    type->unknown = 0;
    type->style = style;
    add_text(type, text, NULL);
    for (const struct node *child = node ? node->first : NULL; child != NULL; child = child->next)
        add_node(type, child, node->kind == NODE_MARGIN);

    PangoFontDescription *description = describe(style->size, style->strong);
    pango_layout_set_font_description(type->layout, description);
    pango_font_description_free(description);
    PangoAttrList *attributes = attributes_of(type);
    pango_layout_set_attributes(type->layout, attributes);
    pango_attr_list_unref(attributes);
    pango_layout_set_width(type->layout, (int)(width * PANGO_SCALE));
    struct text taken = output_taken(type->text);
    pango_layout_set_text(type->layout, taken.data, (int)taken.size);
}

size_t type_lines(const struct type *type) { return (size_t)pango_layout_get_line_count(type->layout); }

/* ---- widths -------------------------------------------------------------------------------------------------------
 */

struct type_width type_width(const struct type *type, const struct style *style, struct text text)
{
    const struct face *face = &type->faces[style->strong];
    struct type_width width = {0, 0};
    double word = 0;
    for (size_t size; text.size > 0; text = (struct text){text.data + size, text.size - size}) {
        uint32_t number = (unsigned char)*text.data;
        size = 1;
        double one = number >= ' ' && number < 0x7f     ? face->ascii[number]
                     : utf8_first(text, &number, &size) ? advance(face, number)
                                                        : -1;
        if (one < 0)
            one = face->ascii['?'];
        width.line += one;
        word = number == ' ' ? 0 : word + one;
        if (word > width.word)
            width.word = word;
    }
    width.line *= style->size;
    width.word *= style->size;
    return width;
}
