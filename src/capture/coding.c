// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/coding.h"

#include <sndfile.h>
#include <stddef.h>

static const struct coding coding_list[] = {
    {SF_FORMAT_PCM_S8, "8-bit PCM", 8, false, 1},
    {SF_FORMAT_PCM_U8, "8-bit PCM", 8, false, 1},
    {SF_FORMAT_PCM_16, "16-bit PCM", 16, false, 2},
    {SF_FORMAT_PCM_24, "24-bit PCM", 24, false, 3},
    {SF_FORMAT_PCM_32, "32-bit PCM", 32, false, 4},
    {SF_FORMAT_FLOAT, "32-bit float", 24, true, 4},
    {SF_FORMAT_DOUBLE, "64-bit float", 53, true, 8},
    {SF_FORMAT_ALAC_16, "16-bit ALAC", 16, false, 0},
    {SF_FORMAT_ALAC_20, "20-bit ALAC", 20, false, 0},
    {SF_FORMAT_ALAC_24, "24-bit ALAC", 24, false, 0},
    {SF_FORMAT_ALAC_32, "32-bit ALAC", 32, false, 0},
    {SF_FORMAT_DWVW_12, "12-bit DWVW", 12, false, 0},
    {SF_FORMAT_DWVW_16, "16-bit DWVW", 16, false, 0},
    {SF_FORMAT_DWVW_24, "24-bit DWVW", 24, false, 0},
    {SF_FORMAT_DPCM_8, "8-bit DPCM", 8, false, 0},
    {SF_FORMAT_DPCM_16, "16-bit DPCM", 16, false, 0},
};

/* The lossy ones, to be called by their names. */
static const struct {
    int subtype;
    const char *name;
} lossy_list[] = {
    {SF_FORMAT_ULAW, "µ-law"},
    {SF_FORMAT_ALAW, "A-law"},
    {SF_FORMAT_IMA_ADPCM, "IMA ADPCM"},
    {SF_FORMAT_MS_ADPCM, "Microsoft ADPCM"},
    {SF_FORMAT_GSM610, "GSM 6.10"},
    {SF_FORMAT_VOX_ADPCM, "VOX ADPCM"},
    {SF_FORMAT_G721_32, "G.721 ADPCM"},
    {SF_FORMAT_G723_24, "G.723 ADPCM"},
    {SF_FORMAT_G723_40, "G.723 ADPCM"},
    {SF_FORMAT_NMS_ADPCM_16, "NMS ADPCM"},
    {SF_FORMAT_NMS_ADPCM_24, "NMS ADPCM"},
    {SF_FORMAT_NMS_ADPCM_32, "NMS ADPCM"},
    {SF_FORMAT_MPEG_LAYER_I, "MPEG layer I"},
    {SF_FORMAT_MPEG_LAYER_II, "MPEG layer II"},
    {SF_FORMAT_MPEG_LAYER_III, "MP3"},
    {SF_FORMAT_VORBIS, "Ogg Vorbis"},
    {SF_FORMAT_OPUS, "Opus"},
};

const struct coding *coding_find(int format)
{
    for (size_t i = 0; i < sizeof coding_list / sizeof coding_list[0]; i++) {
        if (coding_list[i].subtype == (format & SF_FORMAT_SUBMASK)) {
            return &coding_list[i];
        }
    }
    return NULL;
}

const char *coding_find_lossy(int format)
{
    for (size_t i = 0; i < sizeof lossy_list / sizeof lossy_list[0]; i++) {
        if (lossy_list[i].subtype == (format & SF_FORMAT_SUBMASK)) {
            return lossy_list[i].name;
        }
    }
    return "something not known to be lossless";
}
