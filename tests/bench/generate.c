// SPDX-License-Identifier: GPL-3.0-or-later
/* Writes the capture of the benchmark: a 24 bit, 96 kHz, stereo or wider WAV file of so many
 * seconds, with the two waveforms of a ring at a frequency that fits neither the sampling nor the
 * length.
 *
 *     generate SECONDS [CHANNELS] >capture.wav
 *
 * Channels behind the second hold noise. A file too long for its header, above six hours, says so
 * as streams do: its length is 0xFFFFFFFF. */
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE 96000
#define FREQUENCY 50.0123
#define TABLE_SIZE 65536
#define HARMONICS 25
#define SAMPLE_SIZE 3
#define CHANNELS_MOST 64
#define BLOCK_FRAMES 8192

static double excitation[TABLE_SIZE + 1];
static double pickup[TABLE_SIZE + 1];
static unsigned char block[BLOCK_FRAMES * CHANNELS_MOST * SAMPLE_SIZE];

/* Sinusoidal field; a pickup voltage whose odd harmonics die away, each lagging a little more. */
static void fill_tables(void)
{
    const double turn = 2 * acos(-1) / TABLE_SIZE;
    for (int n = 0; n <= TABLE_SIZE; n++) {
        excitation[n] = 0.7 * sin(turn * n);
        for (int k = 1; k <= HARMONICS; k += 2) {
            pickup[n] += 0.35 * exp(-0.25 * (k - 1)) * cos(k * (turn * n - 0.6));
        }
    }
}

static double look_up(const double *table, double place)
{
    size_t index = (size_t)place;
    return table[index] + (place - (double)index) * (table[index + 1] - table[index]);
}

/* Two random numbers in (-1, 1): their sum is triangular dither of one step, and a little noise. */
static double get_noise(void)
{
    static uint64_t state = 88172645463325252u; /* xorshift64 */
    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;
    return ((double)(state >> 32) + (double)(state & 0xFFFFFFFF)) / 0x1p32 - 1;
}

static void put(unsigned char *bytes, uint32_t value, int count)
{
    for (int i = 0; i < count; i++) {
        bytes[i] = (unsigned char)(value >> (8 * i));
    }
}

static void put_sample(unsigned char *bytes, double value)
{
    put(bytes, (uint32_t)(int32_t)lrint(value * 0x7FFFFF + 20 * get_noise()), 3);
}

/* RIFF WAVE, PCM: a format chunk of 16 bytes, then the data. */
static void write_header(uint64_t frames, uint32_t channels)
{
    const uint32_t frame_size = channels * SAMPLE_SIZE;
    const uint64_t size = frames * frame_size;
    const bool is_long = size > UINT32_MAX - 36;
    unsigned char header[44] = "RIFF____WAVEfmt ";
    put(header + 4, is_long ? UINT32_MAX : (uint32_t)(36 + size), 4);
    put(header + 16, 16, 4);
    put(header + 20, 1, 2);
    put(header + 22, channels, 2);
    put(header + 24, RATE, 4);
    put(header + 28, RATE * frame_size, 4);
    put(header + 32, frame_size, 2);
    put(header + 34, 24, 2);
    memcpy(header + 36, "data", 4);
    put(header + 40, is_long ? UINT32_MAX : (uint32_t)size, 4);
    fwrite(header, 1, sizeof header, stdout);
}

int main(int argc, char **argv)
{
    long seconds = argc >= 2 ? strtol(argv[1], NULL, 10) : 0;
    long channels = argc >= 3 ? strtol(argv[2], NULL, 10) : 2;
    if (seconds < 1 || seconds > 1000000 || channels < 2 || channels > CHANNELS_MOST) {
        fprintf(stderr, "usage: generate SECONDS [CHANNELS] >capture.wav\n");
        return EXIT_FAILURE;
    }
    const uint64_t frames = (uint64_t)seconds * RATE;
    fill_tables();
    write_header(frames, (uint32_t)channels);
    for (uint64_t n = 0; n < frames;) {
        size_t count = 0;
        unsigned char *at = block;
        for (; count < BLOCK_FRAMES && n < frames; count++, n++) {
            const double cycles = FREQUENCY / RATE * (double)n;
            const double place = (cycles - floor(cycles)) * TABLE_SIZE;
            for (long m = 0; m < channels; m++, at += SAMPLE_SIZE) {
                put_sample(at, m > 1 ? 0.0 : look_up(m == 0 ? excitation : pickup, place));
            }
        }
        fwrite(block, (size_t)channels * SAMPLE_SIZE, count, stdout);
    }
    return fclose(stdout) == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
