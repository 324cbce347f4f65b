/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <fcntl.h>
#include <signal.h>
#include <unistd.h>

#include "commands/command.h"
#include "stats/tails.h"

/* A file opened later must not get the number of one of these: what is printed would go into it. */
static void hold_standard_files(void)
{
    for (int file = STDIN_FILENO; file <= STDERR_FILENO; file++)
        if (fcntl(file, F_GETFD) < 0 && open("/dev/null", O_RDONLY) != file)
            _exit(2);
}

int main(int argc, char **argv)
{
    hold_standard_files();
    signal(SIGXFSZ, SIG_IGN); /* a file that may not grow is an error like a full disk */
    tails_give_nan();
    return commands_run(commands_all(), argc, argv);
}
