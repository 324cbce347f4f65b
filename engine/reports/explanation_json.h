/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands behind a patient result, for programs. */
#ifndef ASSIZE_REPORTS_EXPLANATION_JSON_H
#define ASSIZE_REPORTS_EXPLANATION_JSON_H

#include "base/output.h"
#include "rulebook/explain.h"

/* An object: the result, its facts, the rules' verdicts, the findings that name it. */
void explanation_json(struct json *json, const struct explanation *explanation, const struct explanations *of);

/* Its beginning, which says whose result it is, and its end with the findings, for who puts something else between. */
void explanation_json_begin(struct json *json, const struct explanation *explanation);
void explanation_json_end(struct json *json, const struct explanation *explanation);

#endif
