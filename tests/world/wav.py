# SPDX-License-Identifier: GPL-3.0-or-later
"""WAV files (RIFF, little endian) written from fractions of full scale with numpy and struct."""
import struct

import numpy as np

BITS = {"pcm16": 16, "pcm24": 24, "pcm32": 32, "float32": 32, "float64": 64}
# the step of each format as a fraction of full scale (floats: near full scale); its rounding has an rms
# of step / sqrt(12)
STEP = {"pcm16": 2.0**-15, "pcm24": 2.0**-23, "pcm32": 2.0**-31, "float32": 2.0**-24,
        "float64": 2.0**-53}


def encode(samples, form):
    """Interleaved frames (n, channels) as bytes."""
    if form == "float32":
        return np.asarray(samples, "<f4").tobytes()
    if form == "float64":
        return np.asarray(samples, "<f8").tobytes()
    top = 2.0 ** (BITS[form] - 1)
    whole = np.clip(np.rint(samples * top), -top, top - 1).astype("<i8")
    if form == "pcm16":
        return whole.astype("<i2").tobytes()
    if form == "pcm32":
        return whole.astype("<i4").tobytes()
    return whole.astype("<i4").view("u1").reshape(-1, 4)[:, :3].tobytes()


def write(path, samples, rate, form="pcm24"):
    samples = np.asarray(samples)
    frames, channels = samples.shape
    size = BITS[form] // 8 * channels
    tag = 3 if form.startswith("float") else 1
    head = struct.pack("<HHIIHH", tag, channels, rate, rate * size, size, BITS[form])
    if channels > 2:  # WAVE_FORMAT_EXTENSIBLE: the tag moves into a GUID
        guid = struct.pack("<H", tag) + bytes.fromhex("000000001000800000aa00389b71")
        head = struct.pack("<HHIIHH", 0xFFFE, *struct.unpack("<HIIHH", head[2:]))
        head += struct.pack("<HHI", 22, BITS[form], 0) + guid
    chunks = b"fmt " + struct.pack("<I", len(head)) + head
    data = encode(samples, form)
    if tag == 3:
        chunks += b"fact" + struct.pack("<II", 4, frames)
    chunks += b"data" + struct.pack("<I", len(data)) + data + b"\0" * (len(data) % 2)
    with open(path, "wb") as out:
        out.write(b"RIFF" + struct.pack("<I", 4 + len(chunks)) + b"WAVE" + chunks)
