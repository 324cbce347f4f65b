/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The whole audit: the parts of all sites put together in the order of the sites, and compared with what earlier audits
 * found. */
#include <stdlib.h>
#include <string.h>

#include "findings/portrait.h"
#include "rulebook/parts.h"

/* Where operators were at all sites: read beforehand, for the rules that look across. */
static struct presence *read_presence(const struct audit_request *request, struct fault *fault)
{
    struct presence *presence = NULL;
    struct presence_site *sites = memory_new((request->site_count + 1) * sizeof *sites);
    for (size_t i = 0; i < request->site_count; i++)
        sites[i] = (struct presence_site){request->sites[i].settings, request->sites[i].store};
    presence_read(&presence, request->stores, sites, request->site_count, request->as_of, fault);
    memory_free(sites);
    return presence;
}

static struct text keep_if_there(struct arena *arena, struct text text)
{
    return text.data ? text_keep(arena, text) : text;
}

static int by_bytes(const void *a, const void *b)
{
    return text_compare(*(const struct text *)a, *(const struct text *)b);
}

static void fill_chain_heads(struct audit *audit, const struct store_past *pasts, size_t count)
{
    audit->chain_heads = arena_take(audit->arena, (count + 1) * sizeof *audit->chain_heads);
    for (size_t i = 0; i < count; i++)
        audit->chain_heads[i] = text_keep(audit->arena, text_of(pasts[i].head));
    audit->chain_head_count = count;
    qsort(audit->chain_heads, count, sizeof *audit->chain_heads, by_bytes);
}

static void add_digest(struct audit *audit, const struct named_digest *file)
{
    audit->settings[audit->settings_count] = *file;
    audit->settings[audit->settings_count++].name = text_keep(audit->arena, file->name);
}

static void fill_settings(struct audit *audit, const struct audit_request *request)
{
    size_t count = 1; /* program.yaml */
    for (size_t i = 0; i < request->site_count; i++)
        count += request->sites[i].settings ? request->sites[i].settings->file_count : 0;
    audit->settings = arena_take(audit->arena, count * sizeof *audit->settings);
    if (request->program->file.name.data)
        add_digest(audit, &request->program->file);
    for (size_t i = 0; i < request->site_count; i++)
        for (size_t j = 0; request->sites[i].settings && j < request->sites[i].settings->file_count; j++)
            add_digest(audit, &request->sites[i].settings->files[j]);
    audit->settings_count = named_digests_sort(audit->settings, audit->settings_count);
}

static struct audit *begin(const struct audit_request *request, const struct store_past *pasts)
{
    struct audit *audit = audit_new();
    audit->from = request->from;
    audit->to = request->to;
    audit->as_of = request->as_of;
    audit->program = keep_if_there(audit->arena, request->program->program);
    audit->program_name = keep_if_there(audit->arena, request->program->name);
    audit->sites = arena_take(audit->arena, (request->site_count + 1) * sizeof *audit->sites);
    fill_chain_heads(audit, pasts, request->stores->count);
    fill_settings(audit, request);
    return audit;
}

/* The parts' findings and rules move into the audit, their memory goes along. */
static void put_together(struct audit *audit, struct audit_part *parts, size_t count)
{
    size_t findings = 0, rules = 0;
    for (size_t i = 0; i < count; i++) {
        findings += parts[i].growing.finding_count;
        rules += parts[i].growing.rule_count;
    }
    audit->findings = arena_take(audit->arena, (findings + 1) * sizeof *audit->findings);
    audit->rules = arena_take(audit->arena, (rules + 1) * sizeof *audit->rules);
    audit->parts = arena_take(audit->arena, (count + 1) * sizeof(struct audit *));
    for (size_t i = 0; i < count; i++) {
        struct audit_part *part = &parts[i];
        if (!part->audit)
            continue;
        part->result.first_finding = audit->finding_count;
        audit->sites[audit->site_count++] = part->result;
        for (size_t j = 0; j < part->growing.finding_count; j++)
            audit->findings[audit->finding_count++] = part->growing.findings[j];
        for (size_t j = 0; j < part->growing.rule_count; j++)
            audit->rules[audit->rule_count++] = part->growing.rules[j];
        for (size_t j = 0; j < part->audit->warning_count; j++)
            audit_add_warning(audit, part->audit->warnings[j]);
        audit->parts[audit->part_count++] = part->audit;
        part->audit = NULL;
    }
}

static void parts_free(struct audit_part *parts, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        audit_free(parts[i].audit);
        memory_free(parts[i].growing.findings);
        memory_free(parts[i].growing.rules);
    }
    memory_free(parts);
}

static bool judge_sites(struct audit *audit, const struct audit_request *request, struct fault *fault)
{
    AUTO(presence) presence = read_presence(request, fault);
    if (!presence)
        return false;
    struct audit_part *all = memory_new((request->site_count + 1) * sizeof *all);
    struct parts parts = {request, presence, all};
    bool made = parts_make(&parts, fault);
    if (made)
        put_together(audit, all, request->site_count);
    parts_free(all, request->site_count);
    return made;
}

static void warn_of_broken_rules(struct audit *audit, const struct rulebook *book)
{
    for (size_t i = 0; i < book->broken_count; i++)
        audit_add_warning(audit, text_print(audit->arena, "%.*s is no rule and was not judged: %.*s",
                                            TEXT_FORMAT(book->broken[i].file), TEXT_FORMAT(book->broken[i].why)));
}

static bool make(struct audit *audit, const struct audit_request *request, const struct store_past *pasts,
                 struct fault *fault)
{
    if (!policy_check(request->book, &request->program->policy, TEXT(""), audit->arena, audit, fault) ||
        !judge_sites(audit, request, fault))
        return false;
    warn_of_broken_rules(audit, request->book);
    return audit_look_back(audit, request, pasts, fault);
}

bool audit_run(struct audit **out, const struct audit_request *request, struct fault *fault)
{
    *out = NULL;
    struct store_past *pasts = stores_past(request, fault);
    if (!pasts)
        return false;
    AUTO(audit) audit = begin(request, pasts);
    bool ok = make(audit, request, pasts, fault);
    memory_free(pasts);
    if (!ok)
        return false;
    *out = audit;
    audit = NULL;
    return true;
}
