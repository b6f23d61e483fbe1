#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The library's figures worked out a second time, by numpy, scipy and libvips.

usage: spectra.py QS_DRIVER

qs_driver (driver.c) prints the library's figures for raw float pixels; here they are
worked out in double precision from the same pixels with general-purpose tools:

  surface    numpy.linalg.lstsq on 1, x, y, x^2, xy, y^2
  spectrum   numpy.fft.fft2 and scipy.signal.periodogram
  intervals  scipy.stats.chi2
  smoothing  scipy.ndimage.gaussian_filter; moments of its impulse response
  filters    published kernel definitions, as a dense matrix for each axis
  libvips    `vips reduce` and `vips shrink`, where the program is there

Exit status: 0 all agree, 1 not, 77 numpy or scipy is missing.
"""
import os
import shutil
import subprocess
import sys
import tempfile

try:
    import numpy as np
    from scipy import ndimage, signal, stats
except ImportError:
    print("numpy or scipy is missing")
    sys.exit(77)

FRAME = 360
BOX = (57, 46, 241, 218)  # x, y, width, height
MEAN, SD = 0.2, 0.01
REACH = 40  # lags that any of the filters here has
FAILED = []


def check(what, got, expected, relative=0.0, absolute=0.0):
    """Notes a figure that is further off than `relative` or `absolute` allow."""
    off = abs(got - expected)
    if not off <= relative * abs(expected) + absolute:
        FAILED.append(what)
        print(f"{what}: {got:.9g}, should be {expected:.9g}")


# Fields


def white(seed):
    return np.random.default_rng(seed).standard_normal((FRAME, FRAME))


def blurred(sd_px):
    return lambda seed: ndimage.gaussian_filter(white(seed), sd_px, mode="wrap", truncate=6)


def blurred_sd(sd_px):
    """sd of white noise after that filter: root of its impulse response's squares."""
    impulse = np.zeros((FRAME, FRAME))
    impulse[FRAME // 2, FRAME // 2] = 1
    return np.sqrt(np.sum(ndimage.gaussian_filter(impulse, sd_px, mode="wrap", truncate=6) ** 2))


def striped(seed):
    return white(seed) + 0.7 * np.random.default_rng(seed + 1).standard_normal((FRAME, 1))


def crossed(seed):
    return striped(seed) + 0.4 * np.random.default_rng(seed + 2).standard_normal((1, FRAME))


FIELDS = {
    # name: (field, true sd, true grain in px: 1 / sd, the filters' response at 0 being 1;
    # stripes lie on an axis and don't count)
    "white": (white, 1.0, 1.0),
    "blur 0.7": (blurred(0.7), blurred_sd(0.7), 1 / blurred_sd(0.7)),
    "blur 1.0": (blurred(1.0), blurred_sd(1.0), 1 / blurred_sd(1.0)),
    "blur 4.0": (blurred(4.0), blurred_sd(4.0), 1 / blurred_sd(4.0)),
    "stripes": (striped, np.sqrt(1 + 0.49), 1 / np.sqrt(1 + 0.49)),
    "both ways": (crossed, np.sqrt(1 + 0.49 + 0.16), 1 / np.sqrt(1 + 0.49 + 0.16)),
}


# Filters by their published definitions, u in delivered pixels


def cubic(b, c):
    def kernel(u):
        u = np.abs(u)
        near = ((12 - 9 * b - 6 * c) * u**3 + (-18 + 12 * b + 6 * c) * u**2 + 6 - 2 * b) / 6
        far = ((-b - 6 * c) * u**3 + (6 * b + 30 * c) * u**2 - (12 * b + 48 * c) * u + 8 * b + 24 * c) / 6
        return np.where(u < 1, near, np.where(u < 2, far, 0))

    return kernel


def lanczos(n):
    return lambda u: np.where(np.abs(u) < n, np.sinc(u) * np.sinc(u / n), 0)


KERNELS = {
    "triangle": lambda u: np.maximum(1 - np.abs(u), 0),
    "mitchell": cubic(1 / 3, 1 / 3),
    "catmull-rom": cubic(0, 1 / 2),
    "bspline": cubic(1, 0),
    "gaussian": lambda u: np.where(np.abs(u) <= 3, np.exp(-2 * u * u), 0),
    "lanczos2": lanczos(2),
    "lanczos3": lanczos(3),
}


def matrix(name, size, out):
    """Weights [out, size] of one axis; rows sum to 1."""
    scale = size / out
    n = np.arange(size)
    centre = ((np.arange(out) + 0.5) * scale - 0.5)[:, None]
    if name == "area":
        high = np.minimum(centre + scale / 2, n + 0.5)
        weight = np.maximum(high - np.maximum(centre - scale / 2, n - 0.5), 0)
    else:
        weight = KERNELS[name]((n - centre) / scale)
    return weight / weight.sum(axis=1, keepdims=True)


# The library


def drive(driver, folder, frame, name, out):
    source, target = os.path.join(folder, "in.raw"), os.path.join(folder, "out.raw")
    frame.tofile(source)
    command = [driver, source, FRAME, FRAME, *BOX, name, out, out, target]
    text = subprocess.run([str(part) for part in command], check=True, capture_output=True, text=True)
    figures = {key: float(value) for key, value in map(str.split, text.stdout.splitlines())}
    return figures, np.fromfile(target, np.float32).reshape(out, out)


# What it should say


def terms(shape):
    v, u = np.mgrid[-1 : 1 : shape[0] * 1j, -1 : 1 : shape[1] * 1j]
    return np.stack([np.ones(shape), u, v, u * u, u * v, v * v], axis=-1).reshape(-1, 6)


def without_surface(patch):
    design = terms(patch.shape)
    fitted, *_ = np.linalg.lstsq(design, patch.ravel(), rcond=None)
    return patch - (design @ fitted).reshape(patch.shape)


def shared_variance(residual):
    """What rows share: power of the row means over what waves 1 to 4 along the rows
    tell of it, orders 0 to 2 across the rows taken off."""
    rows, length = residual.shape
    across, _ = np.linalg.qr(np.vander(np.linspace(-1, 1, rows), 3))
    spectrum = np.fft.fft(residual, axis=1)[:, :5]
    spectrum = spectrum - across @ (across.T @ spectrum)
    power = np.sum(np.abs(spectrum) ** 2, axis=0) / length / (rows - 3)
    own = np.exp(np.polyfit(np.arange(1, 5) ** 2, np.log(power[1:]), 1)[1])
    return (power[0] - own) / length


def check_noise(name, figures, patch, true_sd, true_grain):
    residual = without_surface(patch)
    count = residual.size
    power = np.abs(np.fft.fft2(residual)) ** 2 / count
    variance = (np.sum(residual**2) + figures["removed"]) / count

    check(f"{name}: mean", figures["mean"], patch.mean(), relative=1e-12)
    check(f"{name}: sd", figures["sd"], np.sqrt(variance), relative=1e-9)
    check(f"{name}: sd by the spectrum", figures["sd"] ** 2 * count - figures["removed"], power.sum(), relative=1e-9)
    # one-sided rows: their power, doubled but at both ends, is the residual's too
    _, rows = signal.periodogram(residual, axis=1, detrend=False, scaling="spectrum")
    check(f"{name}: sd by periodograms", np.sum(rows) / rows.shape[0], np.mean(residual**2), relative=1e-9)

    spread = (np.sum(power**2) + 2 * figures["removed_square"]) / count**2
    freedom = 2 * variance**2 / spread
    check(f"{name}: freedom", figures["freedom"], freedom, relative=1e-8)
    for key, share in (("sd_low", 0.975), ("sd_high", 0.025)):
        bound = np.sqrt(variance * freedom / stats.chi2.ppf(share, freedom))
        check(f"{name}: {key}", figures[key], bound, relative=1e-6)

    row, column = shared_variance(residual), shared_variance(residual.T)
    check(f"{name}: row_sd", figures["row_sd"], np.sqrt(max(row, 0)), relative=1e-6, absolute=1e-9)
    check(f"{name}: column_sd", figures["column_sd"], np.sqrt(max(column, 0)), relative=1e-6, absolute=1e-9)

    # against the truth: 4 standard errors of a sd with that many degrees of freedom
    check(f"{name}: true sd", figures["sd"], SD * true_sd, relative=4 / np.sqrt(2 * freedom))
    # one patch: some 260 bins of the fit, half of them left where it bends, and
    # power at the end of a straight line is 2 as uncertain as in its middle
    check(f"{name}: grain", figures["grain_px"], true_grain, relative=0.5 * 4 * 2 / np.sqrt(130))


def check_pixels(name, filter_name, frame, out, shrunk):
    weight = matrix(filter_name, FRAME, out)
    expected = weight @ frame.astype(np.float64) @ weight.T
    # two passes in float, each off by at most taps units of 6e-8
    check(f"{name}, {filter_name} to {out}: pixels", np.max(np.abs(shrunk - expected)), 0, absolute=3e-6)
    return expected


def check_fall(name, filter_name, figures, patch, out, expected):
    what = f"{name}, {filter_name} to {out}"
    merged = (FRAME / out) ** 2
    x, y, width, height = (int(figures[key]) for key in ("out_x", "out_y", "out_width", "out_height"))
    part = without_surface(expected[y : y + height, x : x + width])
    variance = (np.sum(part**2) + figures["removed"] / merged) / part.size
    check(f"{what}: measured", figures["sd_measured"], np.sqrt(variance), relative=1e-5)

    residual = without_surface(patch)
    pairs = place_covariances(residual)
    weight = matrix(filter_name, FRAME, out)
    seen = np.abs(weight) > 0
    whole = (seen.argmax(axis=1) > 0) & (seen[:, ::-1].argmax(axis=1) > 0)
    auto = [autocorrelation(weight[whole], parity) for parity in (0, 1)]
    predicted = sum(auto[place // 2] @ pairs[place] @ auto[place % 2] for place in range(4))
    # what the surface took, all let through, over the pixels.  That its terms overlap
    # the less with themselves the longer the lag is left out here: some 15 px in 220
    # of the 1 to 2 % of power that stripes or blotches have in the terms
    predicted += figures["removed"] / residual.size
    check(f"{what}: predicted", figures["sd_predicted"], np.sqrt(predicted), relative=1.5e-3)
    # and the sum of the power spectrum times the filter's response: leakage from the
    # patch's edges is of the order of the kernel's width over the patch's, 2 %
    power = np.abs(np.fft.fft2(residual)) ** 2 / residual.size
    response = [gain(auto[0] + auto[1], n) for n in residual.shape]
    through = np.mean(power * np.outer(*response)) + figures["removed"] / residual.size
    check(f"{what}: through the spectrum", figures["sd_predicted"], np.sqrt(through), relative=2e-2)


def place_covariances(residual):
    """Mean of e(p) e(p + lag) over pixels p of each place of the 2 x 2 mosaic."""
    y, x = np.mgrid[BOX[1] : BOX[1] + BOX[3], BOX[0] : BOX[0] + BOX[2]]
    mid_y, mid_x = residual.shape[0] - 1, residual.shape[1] - 1
    near = np.s_[mid_y - REACH : mid_y + REACH + 1, mid_x - REACH : mid_x + REACH + 1]
    out = []
    for place in range(4):
        mask = (2 * (y % 2) + x % 2 == place).astype(float)
        sums = signal.correlate(residual, residual * mask, method="fft")[near]
        pairs = signal.correlate(np.ones_like(mask), mask, method="fft")[near]
        out.append(sums / np.rint(pairs))
    return out


def autocorrelation(weight, parity):
    """Mean over delivered pixels of w(n) w(n + lag), n of one parity."""
    masked = weight * (np.arange(FRAME) % 2 == parity)
    lags = np.mean([signal.correlate(row, some) for row, some in zip(weight, masked)], axis=0)
    return lags[FRAME - 1 - REACH : FRAME + REACH]


def gain(auto, n):
    lag = np.arange(-REACH, REACH + 1)
    return np.cos(2 * np.pi * np.outer(np.fft.fftfreq(n), lag)) @ auto


# libvips


def vips(folder, frame, operation):
    """The frame after `operation`; in float, as libvips 8.14 reduces doubles to zeros."""
    raw, v, made, back = (os.path.join(folder, leaf) for leaf in ("vips.raw", "a.v", "b.v", "back.raw"))
    frame.tofile(raw)
    for command in (
        ["rawload", raw, v, FRAME, FRAME, 1, "--format", "float"],
        [operation[0], v, made, *operation[1:]],
        ["rawsave", made, back],
    ):
        subprocess.run(["vips", *map(str, command)], check=True, capture_output=True)
    pixels = np.fromfile(back, np.float32).astype(np.float64)
    side = int(round(np.sqrt(pixels.size)))
    return pixels.reshape(side, side)


# Our filter, libvips's kernel, delivered size.  Its pixels are centred as ours are.
# It keeps weights for 64 places between two source pixels and takes the nearest: at
# these reductions (2, 3/2, 3, 4, 5/2) every place is one of them,
EXACT = [
    ("lanczos3", "lanczos3", 180),
    ("lanczos3", "lanczos3", 240),
    ("lanczos3", "lanczos3", 120),
    ("lanczos2", "lanczos2", 90),
    ("mitchell", "mitchell", 180),
    ("mitchell", "mitchell", 144),
    ("catmull-rom", "cubic", 120),
    ("catmull-rom", "cubic", 240),
    ("triangle", "linear", 180),
    ("triangle", "linear", 90),
]
# so that both differ by the rounding of their floats,
EXACT_SD, EXACT_PX = 1e-5, 1e-6
# and at these (4/3, 9/5) it is off by up to 1/128 of a source pixel.  Noise of sd 0.007
# whose slope is 2 sd a pixel or less moves by 1.1e-4 rms along both axes, 5 times that
# at the most of 10^4 pixels; its sd stays but for the kernel's unevenness over places
BETWEEN = [
    ("lanczos3", "lanczos3", 270),
    ("lanczos2", "lanczos2", 200),
    ("mitchell", "mitchell", 200),
    ("catmull-rom", "cubic", 270),
]
BETWEEN_SD, BETWEEN_PX = 1e-3, 6e-4


def compare_vips(driver, folder, frame, ours, operation, out, sd_relative, pixels):
    what = f"libvips, {ours} to {out}"
    _, shrunk = drive(driver, folder, frame, ours, out)
    made = vips(folder, frame, operation)
    inner = np.s_[12:-12, 12:-12]  # at the edges the missing pixels are made up otherwise
    check(f"{what}: size", made.shape[0], out)
    if made.shape == shrunk.shape:
        check(f"{what}: sd", shrunk[inner].std(), made[inner].std(), relative=sd_relative)
        check(f"{what}: pixels", np.max(np.abs(shrunk - made)[inner]), 0, absolute=pixels)


def check_vips(driver, folder):
    frame = (MEAN + SD * white(77)).astype(np.float32)
    for ours, theirs, out in EXACT + BETWEEN:
        step = FRAME / out
        exact = (ours, theirs, out) in EXACT
        compare_vips(driver, folder, frame, ours, ["reduce", step, step, "--kernel", theirs], out,
                     EXACT_SD if exact else BETWEEN_SD, EXACT_PX if exact else BETWEEN_PX)
    for step in (2, 3, 4):
        compare_vips(driver, folder, frame, "area", ["shrink", step, step], FRAME // step, EXACT_SD, EXACT_PX)


def main():
    driver = sys.argv[1]
    with tempfile.TemporaryDirectory() as folder:
        for seed, (name, (field, true_sd, true_grain)) in enumerate(FIELDS.items()):
            y, x = np.mgrid[0:FRAME, 0:FRAME] / FRAME
            shade = MEAN * (1 + 0.05 * (x - 0.7 * x * y + 0.4 * y * y))
            frame = (shade + SD * field(4000 + 10 * seed)).astype(np.float32)
            patch = frame[BOX[1] : BOX[1] + BOX[3], BOX[0] : BOX[0] + BOX[2]].astype(np.float64)
            for filter_name, out in (("area", 180), ("lanczos3", 180), ("mitchell", 173), ("gaussian", 91),
                                     ("bspline", 120), ("catmull-rom", 250), ("triangle", 77), ("lanczos2", 311)):
                figures, shrunk = drive(driver, folder, frame, filter_name, out)
                expected = check_pixels(name, filter_name, frame, out, shrunk)
                check_fall(name, filter_name, figures, patch, out, expected)
            check_noise(name, figures, patch, true_sd, true_grain)
        if shutil.which("vips"):
            check_vips(driver, folder)
        else:
            print("libvips is missing: its part is left out")
    print(f"{len(FAILED)} figures disagree" if FAILED else "all figures agree")
    return 1 if FAILED else 0


if __name__ == "__main__":
    sys.exit(main())
