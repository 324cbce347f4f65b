/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A page or paper as data: sections, paragraphs, lists, tables, and the words in them. Pages are built once and written
 * by one writer a medium, so that screen and paper cannot drift apart.
 *
 *     struct document *document = document_new(TEXT("Findings, October 2026"));
 *     document_section(document, TEXT("next"), SECTION_PLAIN);
 *     document_heading(document, TEXT("What to do next"));
 *     document_say(document, ROLE_PLAIN, TEXT("Nothing."));
 *     document_close(document);
 *
 * Opened nodes take what follows until they are closed. A heading's level is the depth of its section, so that levels
 * cannot be skipped. Texts are borrowed: they must live as long as the document, whose arena can hold them. */
#ifndef ASSIZE_REPORTS_DOCUMENT_H
#define ASSIZE_REPORTS_DOCUMENT_H

#include "findings/finding.h"
#include "reports/pictures/drawing.h"

enum node_kind {
    NODE_PAGE,      /* the root */
    NODE_SECTION,   /* id; style: enum section_style. Its first child is its heading */
    NODE_HEADING,   /* words */
    NODE_PARAGRAPH, /* words; style: enum role */
    NODE_LIST,      /* items, numbered */
    NODE_ITEM,      /* paragraphs */
    NODE_MARGIN,    /* words beside the section's text: what kind, which number */
    NODE_SIGN,      /* text: what is to be signed or written on the line; style: enum sign_style */
    NODE_BREAK,     /* what follows begins a new page of paper */
    NODE_FIGURE,    /* drawing, with its title as caption; style: its number in the document, from 1 */
    NODE_TABLE,     /* text: caption; columns; rows */
    NODE_ROW,       /* cells */
    NODE_CELL,      /* text, then words */
    NODE_TEXT,
    NODE_STRONG,
    NODE_LINK, /* id: of the section it leads to, or, with LINK_FILE, of a page: a path from this one */
    NODE_TICK, /* an empty box to tick; text: what it stands for, held to it, if anything */
    NODE_MARK, /* style: enum severity; its shape and its name */
};

enum section_style {
    SECTION_PLAIN,
    SECTION_PART,  /* holds many others: set off from its neighbours */
    SECTION_ENTRY, /* one of many alike, with a margin */
    SECTION_SHEET, /* a log sheet to write on: on paper a page of its own, lying, its tables ruled with room to write */
};

enum sign_style {
    SIGN_SHORT, /* lines that follow each other stand side by side where there is room */
    SIGN_WIDE,
};

enum link_style { LINK_INSIDE, LINK_FILE };

enum role {
    ROLE_PLAIN,
    ROLE_VERDICT, /* the sentence that counts most */
    ROLE_LEAD,    /* what explains it */
    ROLE_ABOVE,   /* above the title: what kind of page it is */
    ROLE_SMALL,   /* where it comes from, for those who ask */
    ROLE_DO,      /* what to do */
    ROLE_CAUTION,
};

struct table_column {
    const char *title;
    bool is_number; /* set to the right */
    bool is_head;   /* names its row */
    bool is_word;   /* a day, the number of a finding: not to be torn at its hyphens */
    bool is_wide;   /* of a sheet to write on: needs more room than the others */
};

struct node {
    enum node_kind kind;
    int style;
    struct text id, text;
    const struct drawing *drawing;      /* of a figure */
    const struct table_column *columns; /* of a table */
    size_t column_count;
    bool folded; /* a table or section that shows only when its caption or heading is chosen; on paper it shows */
    bool stacks; /* a table of many columns: where they do not fit beside each other they stand below each other */
    struct node *parent, *first, *last, *next;
};

struct document {
    struct arena *arena;
    struct text title;
    struct node *root;
    struct node *open; /* takes what follows */
    int figure_count;
    size_t affected_rows; /* results that were listed so far (affected.h) */
};

struct document *document_new(struct text title); /* the title is level 1 and stands above the first section */
void document_free(struct document *document);
OWNER(document);

struct node *document_open(struct document *document, enum node_kind kind, int style);
void document_close(struct document *document); /* the node opened last */

struct node *document_section(struct document *document, struct text id, enum section_style style);
void document_heading(struct document *document, struct text text);
void document_say(struct document *document, enum role role, struct text text); /* a whole paragraph */

/* Words, in the open node. */
void document_text(struct document *document, struct text text);
void document_strong(struct document *document, struct text text);
void document_link(struct document *document, struct text text, struct text id);
void document_file_link(struct document *document, struct text text, struct text path);
void document_mark(struct document *document, enum severity severity);
void document_tick(struct document *document);
void document_choice(struct document *document, struct text text); /* a box to tick and its word */

void document_sign(struct document *document, enum sign_style style, struct text text); /* a line to write on */
void document_break(struct document *document);
void document_figure(struct document *document, const struct drawing *drawing); /* lives as long as the document */

/* The columns must live as long as the document. A cell may be left open for words by document_open(…, NODE_CELL, 0).
 */
struct node *document_table(struct document *document, struct text caption, const struct table_column *columns,
                            size_t count);
void document_row(struct document *document);
void document_cell(struct document *document, struct text text); /* a whole cell */

#endif
