/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands/command.h"

int main(int argc, char **argv) { return commands_run(commands_all(), argc, argv); }
