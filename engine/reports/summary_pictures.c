/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/summary_pictures.h"

#include "findings/portrait.h"
#include "reports/pictures/calendar.h"
#include "reports/pictures/control_chart.h"
#include "reports/pictures/lots.h"
#include "reports/pictures/people.h"
#include "reports/pictures/trend.h"

/* A part of the section, with its heading; closed by document_close. */
static void part(struct document *document, const char *title)
{
    document_section(document, (struct text){NULL, 0}, SECTION_PLAIN);
    document_heading(document, text_of(title));
}

static void days(struct document *document, const struct portrait *portrait)
{
    if (portrait->analyzer_count == 0)
        return;
    part(document, "Day by day");
    for (size_t i = 0; i < portrait->analyzer_count; i++)
        document_figure(document, calendar_picture(document->arena, portrait, &portrait->analyzers[i]));
    document_close(document);
}

static void charts(struct document *document, const struct view *view)
{
    const struct portrait *portrait = view->only->portrait;
    if (portrait->series_count == 0)
        return;
    part(document, "Control charts");
    for (size_t i = 0; i < portrait->series_count; i++)
        document_figure(document,
                        control_chart(document->arena, portrait, &portrait->series[i], view->audit, view->only->site));
    document_close(document);
}

void summary_pictures(struct document *document, const struct view *view)
{
    const struct portrait *portrait = view->only->portrait;
    document_section(document, TEXT("pictures"), SECTION_PLAIN);
    document_heading(document, TEXT("The period in pictures"));
    if (trend_tells(portrait)) {
        part(document, "Month by month");
        document_figure(document, trend_picture(document->arena, portrait));
        document_close(document);
    }
    days(document, portrait);
    charts(document, view);
    if (portrait->operator_count > 0) {
        part(document, "People");
        document_figure(document, people_picture(document->arena, portrait));
        document_close(document);
    }
    if (portrait->lot_count > 0) {
        part(document, "Lots and codes");
        document_figure(document, lots_picture(document->arena, portrait));
        document_close(document);
    }
    document_close(document);
}
