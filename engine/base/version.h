/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef ASSIZE_BASE_VERSION_H
#define ASSIZE_BASE_VERSION_H

#define ASSIZE_VERSION "0.1.0"

#endif
