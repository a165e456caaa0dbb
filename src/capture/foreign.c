// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/foreign.h"

#include <stdbool.h>
#include <string.h>

const char foreign_lossy_hint[] =
    "lossy coding destroys the phase that the loop hangs on: record again as WAV or FLAC";

static const char convert_hint[] =
    "convert it to WAV or FLAC if it was coded without loss; record again if it was not";
static const char table_hint[] = "export the sheet as CSV";
static const char other_hint[] = "give a recording (WAV, FLAC ...) or a table of numbers as text";

enum { AT_START = 0, AT_KIND = 8, AT_BRAND = 4, AT_OGG_CODEC = 28 };

static const struct foreign {
    const char *magic;
    size_t size;
    size_t at;
    const char *what;
    const char *hint;
} foreign_list[] = {
    {"\x01vorbis", 7, AT_OGG_CODEC, "is coded as Ogg Vorbis", foreign_lossy_hint},
    {"OpusHead", 8, AT_OGG_CODEC, "is coded as Opus", foreign_lossy_hint},
    {"Speex   ", 8, AT_OGG_CODEC, "is coded as Speex", foreign_lossy_hint},
    {"\x7F"
     "FLAC",
        5, AT_OGG_CODEC, "is FLAC inside Ogg, which is not read",
        "unpack it to FLAC or WAV (flac --decode)"},
    {"OggS", 4, AT_START, "is an Ogg file, which is not read", convert_hint},
    {"ID3", 3, AT_START, "is coded as MP3", foreign_lossy_hint},
    {"ftyp", 4, AT_BRAND, "is an MPEG-4 file (M4A, MP4), which is not read", convert_hint},
    {"\x30\x26\xB2\x75\x8E\x66\xCF\x11", 8, AT_START, "is a WMA file, which is not read",
        convert_hint},
    {"#!AMR", 5, AT_START, "is coded as AMR", foreign_lossy_hint},
    {"#!SILK", 6, AT_START, "is coded as SILK", foreign_lossy_hint},
    {"\x0B\x77", 2, AT_START, "is coded as AC-3", foreign_lossy_hint},
    {"\x7F\xFE\x80\x01", 4, AT_START, "is coded as DTS", foreign_lossy_hint},
    {"MPCK", 4, AT_START, "is coded as Musepack", foreign_lossy_hint},
    {"MP+", 3, AT_START, "is coded as Musepack", foreign_lossy_hint},
    {"wvpk", 4, AT_START, "is a WavPack file, which is not read", convert_hint},
    {"MAC ", 4, AT_START, "is a Monkey's Audio file, which is not read", convert_hint},
    {"TTA1", 4, AT_START, "is a TTA file, which is not read", convert_hint},
    {"TTA2", 4, AT_START, "is a TTA file, which is not read", convert_hint},
    {"DSD ", 4, AT_START, "is a DSD file, which is not read", convert_hint},
    {"FRM8", 4, AT_START, "is a DSD file, which is not read", convert_hint},
    {"\x1A\x45\xDF\xA3", 4, AT_START, "is a Matroska or WebM file, which is not read",
        convert_hint},
    {"AVI ", 4, AT_KIND, "is an AVI file, which is not read", convert_hint},
    {"PK\x03\x04", 4, AT_START, "is a ZIP archive or a spreadsheet, not a capture", table_hint},
    {"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", 8, AT_START, "is a spreadsheet, not a capture",
        table_hint},
    {"\x1F\x8B", 2, AT_START, "is packed with gzip", "unpack it first (gunzip)"},
    {"BZh", 3, AT_START, "is packed with bzip2", "unpack it first (bunzip2)"},
    {"\xFD"
     "7zXZ",
        5, AT_START, "is packed with xz", "unpack it first (unxz)"},
    {"\x28\xB5\x2F\xFD", 4, AT_START, "is packed with zstd", "unpack it first (unzstd)"},
    {"7z\xBC\xAF\x27\x1C", 6, AT_START, "is a 7-Zip archive", "unpack it first"},
    {"\x89HDF\r\n\x1A\n", 8, AT_START, "is an HDF5 file, which is not read",
        "export the channels as WAV or CSV"},
    {"TDSm", 4, AT_START, "is a TDMS file, which is not read", "export the channels as CSV"},
    {"SQLite format 3", 15, AT_START, "is a data base, not a capture", other_hint},
    {"%PDF-", 5, AT_START, "is a PDF document, not a capture", other_hint},
    {"\x89PNG", 4, AT_START, "is a picture, not a capture", other_hint},
    {"\xFF\xD8\xFF", 3, AT_START, "is a picture, not a capture", other_hint},
    {"\x7F"
     "ELF",
        4, AT_START, "is a program, not a capture", other_hint},
};

/* The frame header of MPEG audio, layers II and III. Layer I would take the UTF-16 mark FF FE. */
static bool is_mpeg(const unsigned char *head, size_t count)
{
    if (count < 4 || head[0] != 0xFF || (head[1] & 0xE0) != 0xE0) {
        return false;
    }
    unsigned version = head[1] >> 3 & 3;
    unsigned layer = head[1] >> 1 & 3;
    unsigned bit_rate = head[2] >> 4;
    unsigned rate = head[2] >> 2 & 3;
    return version != 1 && (layer == 1 || layer == 2) && bit_rate != 15 && rate != 3;
}

/* The frame header of AAC in ADTS. */
static bool is_adts(const unsigned char *head, size_t count)
{
    return count >= 4 && head[0] == 0xFF && (head[1] & 0xF6) == 0xF0 && (head[2] >> 2 & 15) < 13;
}

/* Whether this may be text: a header cell may begin with "MAC " or "ID3". */
static bool is_text(const unsigned char *head, size_t count)
{
    for (size_t i = 0; i < count && i < 64; i++) {
        if (head[i] < ' ' && (head[i] < '\t' || head[i] > '\r')) {
            return false;
        }
    }
    return true;
}

static bool is_match(
    const struct foreign *foreign, const unsigned char *head, size_t count, bool may_be_text)
{
    bool is_ogg = count >= 4 && memcmp(head, "OggS", 4) == 0;
    return count >= foreign->at + foreign->size && (!may_be_text || foreign->size > 4) &&
           (foreign->at != AT_OGG_CODEC || is_ogg) &&
           memcmp(head + foreign->at, foreign->magic, foreign->size) == 0;
}

enum status foreign_refuse(
    const char *path, const unsigned char *head, size_t count, struct error *err)
{
    bool may_be_text = is_text(head, count);
    for (size_t i = 0; i < sizeof foreign_list / sizeof foreign_list[0]; i++) {
        const struct foreign *foreign = &foreign_list[i];
        if (is_match(foreign, head, count, may_be_text)) {
            return fail(err, STATUS_INPUT, foreign->hint, "'%s' %s", path, foreign->what);
        }
    }
    if (is_mpeg(head, count)) {
        return fail(err, STATUS_INPUT, foreign_lossy_hint, "'%s' is coded as MP3", path);
    }
    if (is_adts(head, count)) {
        return fail(err, STATUS_INPUT, foreign_lossy_hint, "'%s' is coded as AAC", path);
    }
    return STATUS_OK;
}
