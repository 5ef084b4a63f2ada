"""A proved lower bound of CIEDE2000 over a box of colours, and its proof.

CIEDE2000 is no metric: the triangle inequality fails for 0.06, 0.2 and 0.9 per cent of triples
whose coordinates scatter by 1, 2 and 5 (computed here, a million each), so that trees which prune
by distances between points give wrong answers. Here each term of equation (22) is bounded on its
own over everything a box can hold (interval arithmetic), and the terms are put together so that the
rotation term is given its worst value. k_L = k_C = 1, and k_H = 1 or less. Equation numbers:
G. Sharma, W. Wu, E. N. Dalal (2005), Color Research & Application 30(1), 21-30.

The target is colour 1, any colour of the box is colour 2. The box bounds L*, a*, b*, C*ab and h_ab
of colour 2 (see `bounds.boxes`). Claim: no ΔE00 is below the value returned.

1.  *Stretch.* Both a* are multiplied by the same s = 1 + G, (4) and (5), which falls with the mean
    C*ab. The range of C*ab so gives s_low <= s <= s_high, and always 1 <= s <= 1.5. Since
    C'² = C*ab² + (s² - 1) a*², the ranges of s, a* and C*ab give those of C'1 and C'2.

2.  *Hue.* h' = arctan2(b, s a) grows with h_ab for a given s, so that the wedge of hues goes over
    into the wedge between the images of its ends. |dh'/ds| = |sin h cos h| / (s² cos² h + sin² h)
    <= 1/(2 s) <= 1/2, because s² cos² h + sin² h >= 2 s |sin h cos h|. So taking the middle of the
    range of s is wrong by at most e = (s_high - s_low)/4 in each hue, 2 e in the difference. This
    gives a centre and a half-width of h'2 - h'1; its distance from 0 is the hue gap.

3.  *Lightness.* ΔL'/S_L grows with L*2: its derivative is positive if S_L > (ΔL/2) dS_L/dL. With
    v = mean L* - 50, (18) gives dS_L/dv = 0.015 v (v² + 40)/(v² + 20)^1.5, at most 0.015 × 1.089
    in size (at v² = 40), and ΔL/2 = v - (L*1 - 50) <= v + 50 for L*1 >= 0. What has to be shown is
    1 > 0.015 × 1.089 × 50 + 0.015 × 20 v²/(v² + 20)^1.5, whose last fraction is at most 1.73:
    1 > 0.843. Downwards the same with 100 - L*. So the least |ΔL'|/S_L is that of the nearest
    L*. Outside 0 <= L*1 <= 100 lightness is not used.

4.  *Chroma.* (C'2 - C'1)/(1 + 0.0225 (C'1 + C'2)) grows with C'2 (derivative's sign: that of
    1 + 0.045 C'1) and falls with C'1. So where the two ranges are apart, the least size X of
    ΔC'/S_C is that of their facing ends, and its sign is known; else X = 0.

5.  *Hue difference.* |ΔH'| = 2 sqrt(C'1 C'2) |sin(Δh'/2)| grows with both C' and with |Δh'| up to
    180 degrees, whichever way round (11) counts. S_H, (20), is at most that of the largest mean C'
    and of the largest T. By (15), T is at most T(h) + 2.41 |h - h~| [radians] and 1.573 everywhere:
    its derivative is at most 0.17 + 2 × 0.24 + 3 × 0.32 + 4 × 0.20 = 2.41. So |ΔH'|/S_H >= Y;
    with another k_H it is Y/k_H that takes the place of Y. At most, Y_most, it is that of the
    largest of these over S_H of the smallest mean C' and T, which is 0.362 or more.

6.  *Mean hue.* It is h'1 + (h'2 - h'1)/2 by the shorter way (14). Where the box reaches 180 degrees
    from the target, it may be either way, ΔH' having either sign: a mean hue and its opposite. T is
    then at most that of the larger. Wide boxes are taken to admit every mean hue within 90 degrees
    of h'1. A wedge on one side of the line through the target and the neutral axis has one way:
    whatever is opposite stays so, however a* are stretched.

7.  *Rotation.* By (16), (17) and (21), -sqrt(3) <= R_T <= 0; the size r of R_T is at most that of
    the largest mean C' and of the mean hue nearest to 275 degrees. Where the signs of ΔC' and ΔH'
    are known and opposite, R_T x y >= 0: r is taken as minus its least, that of the smallest mean
    C' and of the mean hue farthest from 275 degrees, or as 0 where that is not within 84 degrees.
    Where ΔH' has either sign and that of ΔC' is known, r is that of the way in which both are
    alike; where it is not, that of the way that is nearest to 275 degrees.

8.  *Together.* For |x| >= X, |y| >= Y and 0 <= r < 2 the least value of x² + y² - r x y is at
    x = max(X, r Y/2), y = max(Y, r X/2): the form is convex; for a given x it is least at
    y = r x/2, which is taken where it is allowed. As r < 2, both cannot exceed their limits. Where
    y is at most Y_most, and r X/2 is not, it is at x = X, y = Y_most; and so of x. X_most is that
    of the sign of ΔH' where it is known: with the other, r x y adds to the form. Where r < 0 the
    form is least at X, Y.

9.  *About the neutral axis* the hues of a box say nothing. There: x² + y² - r x y >= (1 - r/2)
    (x² + y²), S_H <= S_C because T <= 1.573 < 3, and ΔC'² + ΔH'² = s² Δa*² + Δb*², so that
    x² + y² - r x y >= (1 - r/2) (s_low² Δa*² + Δb*²)/S_C² at the largest S_C. The larger is taken.
    A k_H below 1 only makes y larger.
"""

import numpy as np

from stopgap.arrays import Floats

# T is from 0.36205, at a mean hue of 290.1 degrees, to 1.57248, at 234.4
T_SMALLEST, T_LARGEST = 0.362, 1.573


def bound_ciede2000(target: Floats, boxes: Floats, *, k_H: float = 1.0) -> Floats:
    """The least ΔE00 there can be from targets (..., 3) to colours of boxes (..., BOX_COLUMNS).

    `k_H` is from 0 to 1.
    """
    box = np.moveaxis(boxes, -1, 0)
    L_1, a_1, b_1 = np.moveaxis(target, -1, 0)
    return np.sqrt(squared_bound_ciede2000(L_1, a_1, b_1, np.hypot(a_1, b_1), box, k_H))


def squared_bound_ciede2000(
    L_1: Floats, a_1: Floats, b_1: Floats, C_1: Floats, box: Floats, k_H: float = 1.0
) -> Floats:
    """The bound's square. `C_1` is C*ab of the target; `box` has its columns on the first axis.

    Arithmetic that numbers and arrays have in common, so that it can be compiled for one pair.
    Sines are taken by the tangent of half the angle, which numpy has faster.
    """
    L_low, L_high, a_low, a_high = box[0], box[1], box[2], box[3]
    b_low, b_high, C_low, C_high = box[4], box[5], box[6], box[7]

    # 1 stretch
    c_low, c_high = (C_1 + C_low) / 50.0, (C_1 + C_high) / 50.0
    c2_low, c2_high = c_low * c_low, c_high * c_high
    c7_low, c7_high = c2_low * c2_low * c2_low * c_low, c2_high * c2_high * c2_high * c_high
    s_low = 1.5 - 0.5 * np.sqrt(c7_high / (c7_high + 1.0))
    s_high = 1.5 - 0.5 * np.sqrt(c7_low / (c7_low + 1.0))
    more_low, more_high = s_low * s_low - 1.0, s_high * s_high - 1.0
    a_near = np.maximum(np.maximum(a_low, -a_high), 0.0)
    a_far = np.maximum(-a_low, a_high)
    C_1_low = np.sqrt(C_1 * C_1 + more_low * a_1 * a_1)
    C_1_high = np.sqrt(C_1 * C_1 + more_high * a_1 * a_1)
    C_2_low = np.sqrt(C_low * C_low + more_low * a_near * a_near)
    C_2_high = np.sqrt(C_high * C_high + more_high * a_far * a_far)
    mean_C, least_C = 0.5 * (C_1_high + C_2_high), 0.5 * (C_1_low + C_2_low)

    # 2 hue
    s = 0.5 * (s_low + s_high)
    h_1 = np.arctan2(b_1, s * a_1)
    first = np.arctan2(box[9], s * box[8])
    last = np.arctan2(box[11], s * box[10])
    width = last - first
    width = width + _TURN * (width < 0.0)
    whole = (box[8] == 0.0) & (box[9] == 0.0)
    half = np.maximum(0.5 * (width + (s_high - s_low)), np.pi * whole)
    turn = first + 0.5 * width - h_1
    turn = turn - _TURN * np.floor(turn / _TURN + 0.5)  # from -180 to 180 degrees
    hue_gap = np.maximum(np.abs(turn) - half, 0.0)

    # 6 mean hue
    hair = 1e-9 * C_1
    from_first, from_last = a_1 * box[9] - b_1 * box[8], a_1 * box[11] - b_1 * box[10]
    left = (from_first > hair) & (from_last > hair)
    right = (from_first < -hair) & (from_last < -hair)
    either = (np.abs(turn) + half > 3.1415) & ((left | right) < 1)
    any_within = either & (half > 0.5 * np.pi)
    either_way = either & (half <= 0.5 * np.pi)
    mean_h = h_1 + 0.5 * turn * (1.0 - any_within)
    slack = 0.5 * np.maximum(half, (np.pi + s_high - s_low) * any_within)

    # 5 hue difference
    t = np.tan(0.5 * mean_h)
    c, sn = (1.0 - t * t) / (1.0 + t * t), 2.0 * t / (1.0 + t * t)
    c2, s2 = c * c - sn * sn, 2.0 * c * sn
    c3, s3 = c2 * c - s2 * sn, s2 * c + c2 * sn
    c4, s4 = c2 * c2 - s2 * s2, 2.0 * c2 * s2
    T = 1.0 + 0.24 * c2 - 0.20 * (_C63 * c4 + _S63 * s4)
    turned = 0.32 * (_C6 * c3 - _S6 * s3) - 0.17 * (_C30 * c + _S30 * sn)
    more, less = 2.41 * slack, turned * (1.0 - 2.0 * either_way)  # of the opposite it is -turned
    T_low = np.maximum(T + np.minimum(turned, less) - more, T_SMALLEST)
    T = np.minimum(T + np.maximum(turned, less) + more, T_LARGEST)
    t = np.tan(0.25 * hue_gap)
    y = 4.0 * np.sqrt(C_1_low * C_2_low) * t / (1.0 + t * t)
    y = y / (1.0 + 0.015 * mean_C * T) / k_H
    t = np.tan(np.minimum(0.25 * (np.abs(turn) + half), 0.25 * np.pi))
    y_most = 4.0 * np.sqrt(C_1_high * C_2_high) * t / (1.0 + t * t)
    y_most = y_most / (1.0 + 0.015 * least_C * T_low) / k_H

    # 4 chroma
    up, down = C_2_low - C_1_high, C_1_low - C_2_high
    x = np.maximum(up / (1.0 + 0.0225 * (C_2_low + C_1_high)), 0.0)
    x = np.maximum(down / (1.0 + 0.0225 * (C_1_low + C_2_high)), x)
    up_most = (C_2_high - C_1_low) / (1.0 + 0.0225 * (C_2_high + C_1_low))
    down_most = (C_1_high - C_2_low) / (1.0 + 0.0225 * (C_1_high + C_2_low))
    one_way = (hue_gap > 0.0) & (either < 1)
    x_most = np.maximum(
        up_most * (1.0 - (one_way & (turn < 0.0))), down_most * (1.0 - (one_way & (turn > 0.0)))
    )

    # 7 rotation
    from_blue = mean_h + _85
    from_blue = np.abs(from_blue - _TURN * np.floor(from_blue / _TURN + 0.5))
    unlike = ((up > 0.0) & (turn < 0.0)) | ((down > 0.0) & (turn > 0.0))
    like = ((up > 0.0) & (turn > 0.0)) | ((down > 0.0) & (turn < 0.0))
    opposite = (np.pi - 2.0 * from_blue) * either_way  # so much further from it
    from_blue = from_blue + opposite * unlike + np.minimum(opposite, 0.0) * (1.0 - (unlike | like))
    adds = unlike & one_way
    from_blue = np.maximum(from_blue + slack * (2.0 * adds - 1.0), 0.0)
    c7 = (mean_C - (mean_C - least_C) * adds) / 25.0
    c7 = c7 * c7 * c7 * c7 * c7 * c7 * c7
    t = np.tan(_30 * np.exp(-from_blue * _TO_25 * from_blue * _TO_25))
    r = 4.0 * np.sqrt(c7 / (c7 + 1.0)) * t / (1.0 + t * t)
    r = r * (1.0 - adds * (1.0 + (from_blue < _84)))

    # 8 together, 9 about the neutral axis
    x_worst = np.maximum(x, np.minimum(0.5 * r * y, x_most))
    y_worst = np.maximum(y, np.minimum(0.5 * r * x, y_most))
    polar = x_worst * x_worst + y_worst * y_worst - r * x_worst * y_worst
    gap_a = s_low * np.maximum(np.maximum(a_low - a_1, a_1 - a_high), 0.0)
    gap_b = np.maximum(np.maximum(b_low - b_1, b_1 - b_high), 0.0)
    S_C = 1.0 + 0.045 * mean_C
    flat = (1.0 - 0.5 * np.maximum(r, 0.0)) * (gap_a * gap_a + gap_b * gap_b) / (S_C * S_C)

    # 3 lightness
    nearest_L = np.minimum(np.maximum(L_1, L_low), L_high)
    off_middle = 0.5 * (L_1 + nearest_L) - 50.0
    off_middle = off_middle * off_middle
    S_L = 1.0 + 0.015 * off_middle / np.sqrt(20.0 + off_middle)
    lightness = (nearest_L - L_1) / S_L * ((L_1 >= 0.0) & (L_1 <= 100.0))
    squared: Floats = lightness * lightness + np.maximum(polar, flat)
    return squared


_TURN = 2.0 * np.pi
_C30, _S30 = np.cos(np.pi / 6.0), np.sin(np.pi / 6.0)
_C6, _S6 = np.cos(np.pi / 30.0), np.sin(np.pi / 30.0)
_C63, _S63 = np.cos(np.radians(63.0)), np.sin(np.radians(63.0))
_85 = np.radians(85.0)  # -275 degrees
_30, _84 = np.radians(30.0), np.radians(84.0)
_TO_25 = 180.0 / np.pi / 25.0
