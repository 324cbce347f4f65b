/* SPDX-License-Identifier: GPL-3.0-or-later */
/* took FILE COMMAND…: runs a command, ends with its status, and writes into FILE what it took: wall seconds, processor
 * seconds (user and system, with those of processes it waited for), peak memory in kB. It is small itself, for a
 * process starts with the peak of the one that it was forked from. */
#include <stdio.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/* Not in POSIX, and as old as BSD. */
extern pid_t wait4(pid_t process, int *status, int options, struct rusage *usage);

static double seconds_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static double seconds_of(const struct timeval *time) { return (double)time->tv_sec + (double)time->tv_usec / 1e6; }

int main(int count, char **words)
{
    if (count < 3)
        return 2;
    struct rusage usage;
    int status;
    double started = seconds_now();
    pid_t process = fork();
    if (process == 0) {
        execvp(words[2], words + 2);
        perror(words[2]);
        _exit(127);
    }
    if (process < 0 || wait4(process, &status, 0, &usage) != process)
        return 2;
    double wall = seconds_now() - started;
    FILE *file = fopen(words[1], "w");
    if (file == NULL)
        return 2;
    fprintf(file, "%.6f %.6f %ld\n", wall, seconds_of(&usage.ru_utime) + seconds_of(&usage.ru_stime), usage.ru_maxrss);
    if (fclose(file) != 0)
        return 2;
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}
