/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the commands share that show a page of a site: it goes into the file of --out, as its ending says, or as plain
 * text to the terminal. */
#ifndef ASSIZE_COMMANDS_SITE_PAGE_H
#define ASSIZE_COMMANDS_SITE_PAGE_H

#include "commands/judged.h"
#include "reports/document.h"
#include "reports/view.h"

#define PAGE_OUT_OPTION                                                                 \
    {                                                                                   \
        "out", "FILE", "write a page instead of printing: FILE.html or FILE.pdf", false \
    }

/* Is --out, if it is given, a name that a page can have? Asked before the work begins. */
bool page_out_check(const struct arguments *arguments, struct fault *fault);

/* `as_of`: the date in a PDF. */
bool page_out(const struct document *page, day_number as_of, const struct arguments *arguments, struct fault *fault);

/* The whole command: judges, then shows the page of each site; a file holds the page of one. */
bool site_pages(const struct arguments *arguments, struct document *(*page)(const struct view *), struct fault *fault);

#endif
