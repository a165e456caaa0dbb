// SPDX-License-Identifier: GPL-3.0-or-later
#include "virtual/columns.h"

#include <stdio.h>
#include <string.h>

#include "virtual/ring_layout.h"

/* Header texts where the rig gives numbers. */
static const char *get_title(enum ring_input input, enum input_quantity quantity)
{
    static const char *const titles[] = {
        [INPUT_VOLTAGE] = "",
        [INPUT_CURRENT] = "current",
        [INPUT_FIELD_STRENGTH] = "field strength",
        [INPUT_FLUX_LINKAGE] = "flux linkage",
        [INPUT_FLUX_DENSITY] = "flux density",
        [INPUT_POLARIZATION] = "polarization",
    };
    if (quantity == INPUT_VOLTAGE)
        return input == RING_EXCITATION ? "excitation voltage" : "pickup voltage";
    return titles[quantity];
}

/* The unit in a header cell "name (unit)" or "name [unit]". */
static bool find_unit(const char *header, char *unit, size_t size)
{
    size_t length = strlen(header);
    if (length < 3)
        return false;
    char close = header[length - 1];
    char open = close == ')' ? '(' : '[';
    const char *from = strrchr(header, open);
    if ((close != ')' && close != ']') || from == NULL)
        return false;
    snprintf(unit, size, "%.*s", (int)(header + length - 1 - from - 1), from + 1);
    return true;
}

static bool is_number(const char *words)
{
    return words[strspn(words, "0123456789")] == '\0';
}

static enum status set_table_column(
    struct columns *columns, const struct ring *ring, enum ring_input input, struct error *err)
{
    const struct rig_input *rig = ring_get_input(ring, input);
    enum dimension wanted = ring_get_dimension(ring, input);
    enum dimension dimension = wanted;
    char unit[80];
    char *header = columns->headers[input];
    double offset = 0.0;
    columns->divisor[input] = 1.0;
    if (is_number(rig->channel) || !find_unit(rig->channel, unit, sizeof unit)) {
        snprintf(header, COLUMN_HEADER_SIZE, "%s (%s)",
            is_number(rig->channel) ? get_title(input, rig->quantity) : rig->channel,
            dimension_get_unit(wanted));
        return STATUS_OK;
    }
    snprintf(header, COLUMN_HEADER_SIZE, "%s", rig->channel);
    enum status status = unit_read(unit, &dimension, &columns->divisor[input], &offset, err);
    if (!status && dimension != wanted)
        status = fail(err, STATUS_INPUT, "mend the unit in the header text, or the quantity",
            "the header '%.80s' is a %s, but the rig says %s", header,
            dimension_get_name(dimension), dimension_get_name(wanted));
    return status;
}

enum status columns_init(struct columns *columns, const struct ring *ring, struct error *err)
{
    struct columns made = {.count = ring_layout_get_columns(ring)};
    for (int i = 0; i < RING_INPUTS; i++) {
        enum ring_input input = (enum ring_input)i;
        made.index[i] = ring_layout_get_column(ring, input);
        made.divisor[i] = ring_get_input(ring, input)->full_scale.value;
        enum status status = ring->is_table ? set_table_column(&made, ring, input, err) : STATUS_OK;
        if (status)
            return status;
    }
    const char *time = ring->rig.time_column;
    if (ring->has_time_column)
        snprintf(made.time_header, sizeof made.time_header, "%s",
            time && !is_number(time) ? time : "time (s)");
    *columns = made;
    return STATUS_OK;
}

static enum status create_audio(const struct columns *columns, const struct ring *ring,
    const char *path, struct writer **writer, struct error *err)
{
    struct audio_writer_options options = {
        .encoding = ring->recording.encoding,
        .channels = columns->count,
        .sample_rate_Hz = ring->sample_rate_Hz,
    };
    enum status status = audio_writer_create(path, &options, writer, err);
    /* Name and kind of the file are the order's, not the command line's. */
    return status == STATUS_USAGE ? STATUS_INPUT : status;
}

static enum status create_table(const struct columns *columns, const struct ring *ring,
    const char *path, struct writer **writer, struct error *err)
{
    const struct ring_recording *recording = &ring->recording;
    static const char own_separator[] = {[RING_CSV] = ',', [RING_TSV] = '\t', [RING_TXT] = ' '};
    const char *headers[RING_INPUTS];
    for (int i = 0; i < RING_INPUTS; i++)
        headers[columns->index[i]] = columns->headers[i];
    struct table_writer_options options = {
        .channels = columns->count,
        .separator =
            (char)(recording->separator ? recording->separator : own_separator[recording->format]),
        .decimal = (char)(recording->decimal ? recording->decimal : '.'),
        .has_crlf = recording->has_crlf,
        .has_bom = recording->has_bom,
        .headers = recording->has_no_header ? NULL : headers,
        .time_header = *columns->time_header ? columns->time_header : NULL,
        .sample_rate_Hz = ring->sample_rate_Hz,
        .time_decimals = (int)recording->time_decimals.value,
        .digits = (int)recording->digits.value,
    };
    return table_writer_create(path, &options, writer, err);
}

enum status columns_create_writer(const struct columns *columns, const struct ring *ring,
    const char *path, struct writer **writer, struct error *err)
{
    return ring->is_table ? create_table(columns, ring, path, writer, err)
                          : create_audio(columns, ring, path, writer, err);
}
