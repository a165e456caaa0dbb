#!/bin/bash
# SPDX-License-Identifier: GPL-3.0-or-later
# The fuzz targets with the files they have been fed so far, findings among them.
exec "${BUILT:-build/release}/fuzz/replay" tests/fuzz/seeds
