/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/paper/finish.h"

#include <qpdf/qpdf-c.h>
#include <string.h>

#include "reports/paper/draw.h"

struct finishing {
    qpdf_data pdf;
    const struct blocks *blocks;
    size_t next_figure; /* block from which on the next figure is looked for */
};

static bool is_tag(const struct finishing *finishing, qpdf_oh element, const char *name)
{
    qpdf_oh tag = qpdf_oh_get_key(finishing->pdf, element, "/S");
    return qpdf_oh_is_name(finishing->pdf, tag) && strcmp(qpdf_oh_get_name(finishing->pdf, tag) + 1, name) == 0;
}

static void set(const struct finishing *finishing, qpdf_oh object, const char *key, const char *value)
{
    qpdf_oh_replace_key(finishing->pdf, object, key, qpdf_oh_parse(finishing->pdf, value));
}

/* The children of an element: an array, also if there is only one. */
static qpdf_oh children_of(const struct finishing *finishing, qpdf_oh element)
{
    qpdf_oh kids = qpdf_oh_get_key(finishing->pdf, element, "/K");
    return qpdf_oh_is_array(finishing->pdf, kids) ? kids : qpdf_oh_wrap_in_array(finishing->pdf, kids);
}

static int count_of(const struct finishing *finishing, qpdf_oh array)
{
    return qpdf_oh_get_array_n_items(finishing->pdf, array);
}

static void describe_figure(struct finishing *finishing, qpdf_oh figure)
{
    const struct blocks *blocks = finishing->blocks;
    size_t i = finishing->next_figure;
    while (i < blocks->count && blocks->blocks[i].kind != BLOCK_FIGURE)
        i++;
    finishing->next_figure = i + 1;
    if (i >= blocks->count)
        return;
    AUTO(arena) arena = arena_new();
    const struct drawing *drawing = blocks->blocks[i].node->drawing;
    struct text said = text_print(arena, "%.*s. %.*s", TEXT_FORMAT(drawing->title), TEXT_FORMAT(drawing->description));
    qpdf_oh alt = qpdf_oh_new_unicode_string(finishing->pdf, text_string(arena, said));
    qpdf_oh_replace_key(finishing->pdf, figure, "/Alt", alt);
}

/* Cells that are heads name their column in the first row, else their row. */
static void scope_heads(const struct finishing *finishing, qpdf_oh table)
{
    qpdf_oh rows = children_of(finishing, table);
    bool is_first = true;
    for (int i = 0; i < count_of(finishing, rows); i++) {
        qpdf_oh row = qpdf_oh_get_array_item(finishing->pdf, rows, i);
        if (!is_tag(finishing, row, "TR"))
            continue;
        qpdf_oh cells = children_of(finishing, row);
        for (int j = 0, end = count_of(finishing, cells); j < end; j++) {
            qpdf_oh cell = qpdf_oh_get_array_item(finishing->pdf, cells, j);
            if (is_tag(finishing, cell, "TH"))
                set(finishing, cell, "/A", is_first ? "<< /O /Table /Scope /Column >>" : "<< /O /Table /Scope /Row >>");
        }
        is_first = false;
    }
}

/* Moves the children of an element to the end of another. */
static void join(const struct finishing *finishing, qpdf_oh to, qpdf_oh from)
{
    qpdf_oh old = children_of(finishing, to), more = children_of(finishing, from);
    for (int i = 0, end = count_of(finishing, more); i < end; i++) {
        qpdf_oh child = qpdf_oh_get_array_item(finishing->pdf, more, i);
        qpdf_oh_replace_key(finishing->pdf, child, "/P", to);
        qpdf_oh_append_item(finishing->pdf, old, child);
    }
    qpdf_oh_replace_key(finishing->pdf, to, "/K", old);
}

static void walk(struct finishing *finishing, qpdf_oh element)
{
    if (is_tag(finishing, element, "Figure"))
        describe_figure(finishing, element);
    else if (is_tag(finishing, element, "Table"))
        scope_heads(finishing, element);
}

/* All elements become children of one that stands for the document. */
static void mend_tags(struct finishing *finishing, qpdf_oh root)
{
    qpdf_data pdf = finishing->pdf;
    qpdf_oh tree = qpdf_oh_get_key(pdf, root, "/StructTreeRoot");
    if (!qpdf_oh_is_dictionary(pdf, tree))
        return;
    qpdf_oh elements = children_of(finishing, tree), kept = qpdf_oh_new_array(pdf), last = 0;
    qpdf_oh document = qpdf_make_indirect_object(pdf, qpdf_oh_parse(pdf, "<< /Type /StructElem /S /Document >>"));
    for (int i = 0, end = count_of(finishing, elements); i < end; i++) {
        qpdf_oh element = qpdf_oh_get_array_item(pdf, elements, i);
        if (last != 0 && is_tag(finishing, element, TAG_CARRIED_ON)) {
            join(finishing, last, element);
            continue;
        }
        qpdf_oh_replace_key(pdf, element, "/P", document);
        qpdf_oh_append_item(pdf, kept, element);
        last = element;
    }
    for (int i = 0, end = count_of(finishing, kept); i < end; i++)
        walk(finishing, qpdf_oh_get_array_item(pdf, kept, i));
    qpdf_oh_replace_key(pdf, document, "/K", kept);
    qpdf_oh_replace_key(pdf, document, "/P", tree);
    qpdf_oh_replace_key(pdf, tree, "/K", document);
}

static bool tell(qpdf_data pdf, struct fault *fault)
{
    return fault_set(fault, FAULT_FILE, "the PDF cannot be completed: %s",
                     qpdf_has_error(pdf) ? qpdf_get_error_full_text(pdf, qpdf_get_error(pdf)) : "no reason is known");
}

static bool mend(qpdf_data pdf, struct text drawn, const struct blocks *blocks, struct output *output,
                 struct fault *fault)
{
    qpdf_silence_errors(pdf);
    qpdf_set_suppress_warnings(pdf, QPDF_TRUE);
    if (qpdf_read_memory(pdf, "drawn", drawn.data, drawn.size, NULL) > QPDF_WARNINGS)
        return tell(pdf, fault);
    struct finishing finishing = {.pdf = pdf, .blocks = blocks};
    qpdf_oh root = qpdf_get_root(pdf);
    set(&finishing, root, "/MarkInfo", "<< /Marked true >>");
    set(&finishing, root, "/Lang", "(en)");
    set(&finishing, root, "/ViewerPreferences", "<< /DisplayDocTitle true >>");
    mend_tags(&finishing, root);
    qpdf_init_write_memory(pdf);
    qpdf_set_deterministic_ID(pdf, QPDF_TRUE);
    qpdf_set_object_stream_mode(pdf, qpdf_o_generate);
    if (qpdf_write(pdf) > QPDF_WARNINGS)
        return tell(pdf, fault);
    output_bytes(output, qpdf_get_buffer(pdf), qpdf_get_buffer_length(pdf));
    return true;
}

bool finish_write(struct text drawn, const struct blocks *blocks, struct output *output, struct fault *fault)
{
    qpdf_data pdf = qpdf_init();
    bool written = mend(pdf, drawn, blocks, output, fault);
    qpdf_cleanup(&pdf);
    return written;
}
