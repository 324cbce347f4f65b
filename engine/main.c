/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/memory.h"
#include "commands/command.h"

int main(int argc, char **argv)
{
    memory_keep_freed();
    return commands_run(commands_all(), argc, argv);
}
