/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands/watch.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

/* The one variable that a signal's handler can reach. */
static volatile sig_atomic_t stop_asked;

/* What asks a program to end: Ctrl-C, the system, a terminal that is closed. */
static const int signals[] = {SIGINT, SIGTERM, SIGHUP};
enum { SIGNAL_COUNT = sizeof signals / sizeof *signals };

struct watch {
    bool on_terminal, is_shown;
    const char *work; /* at hand */
    double begun, drawn;
    struct sigaction before[SIGNAL_COUNT];
};

static void ask_to_stop(int signal)
{
    (void)signal;
    stop_asked = 1;
}

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + (double)time.tv_nsec / 1e9;
}

struct watch *watch_new(void)
{
    struct watch *watch = memory_new(sizeof *watch);
    struct sigaction action = {.sa_handler = ask_to_stop, .sa_flags = (int)(SA_RESETHAND | SA_RESTART)};
    sigemptyset(&action.sa_mask);
    stop_asked = 0;
    for (int i = 0; i < SIGNAL_COUNT; i++) {
        sigaction(signals[i], &action, &watch->before[i]);
        if (watch->before[i].sa_handler == SIG_IGN) /* of a process in the background */
            sigaction(signals[i], &watch->before[i], NULL);
    }
    watch->on_terminal = isatty(STDERR_FILENO);
    return watch;
}

static void wipe(struct watch *watch)
{
    if (watch->is_shown)
        fputs("\r\033[K", stderr);
    watch->is_shown = false;
}

void watch_free(struct watch *watch)
{
    if (watch == NULL)
        return;
    wipe(watch);
    for (int i = 0; i < SIGNAL_COUNT; i++)
        sigaction(signals[i], &watch->before[i], NULL);
    memory_free(watch);
}

static void draw(struct watch *watch, size_t done, size_t total, double time)
{
    enum { CELLS = 24 };
    char bar[CELLS + 1];
    size_t full = total > 0 ? done * CELLS / total : 0;
    for (size_t i = 0; i < CELLS; i++)
        bar[i] = i < full ? '#' : '.';
    bar[CELLS] = '\0';
    fprintf(stderr, "\r\033[K%s [%s] %zu of %zu", watch->work, bar, done, total);
    double elapsed = time - watch->begun;
    if (done > 0 && done < total)
        fprintf(stderr, ", about %.0f s left", elapsed / (double)done * (double)(total - done) + 0.5);
    fflush(stderr);
    watch->is_shown = true;
    watch->drawn = time;
}

static bool step(void *context, const char *work, size_t done, size_t total)
{
    const double first = 1, again = 0.2; /* seconds before a bar is shown, and between two */
    struct watch *watch = context;
    double time = now();
    if (watch->work == NULL || strcmp(watch->work, work) != 0) {
        wipe(watch);
        watch->work = work;
        watch->begun = watch->drawn = time;
    }
    if (watch->on_terminal && total > 1 && time - watch->begun > first && time - watch->drawn > again)
        draw(watch, done, total, time);
    return !stop_asked;
}

struct progress watch_progress(struct watch *watch) { return (struct progress){step, watch}; }
