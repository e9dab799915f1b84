//! The nearest slip that breaks something, looked for in ever smaller squares, the nearest first.

use glam::DVec2;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Half the side of the smallest square, metres.
const FINEST_M: f64 = 0.004;
/// How near the nearest slip is wanted, metres.
const NEAR_ENOUGH_M: f64 = 0.004;

/// What is known of the slips in a square.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Judged {
    /// None of them breaks anything.
    Holds,
    /// The one in the middle does.
    Breaks,
    /// The one in the middle does not.
    Unsure,
}

struct Square {
    middle: DVec2,
    half: f64,
}

impl Square {
    /// Distance of its nearest point from the origin.
    fn nearest(&self) -> f64 {
        (self.middle.abs() - self.half).max(DVec2::ZERO).length()
    }
}

/// The slip shorter than `reach` nearest to none that breaks something, within about a centimetre; none when all
/// hold. `judge` is asked of squares by their middle and half their side, 0 for a slip alone. Each is judged
/// whatever was judged before, so that the answer is the same every time.
pub(super) fn nearest_break(reach: f64, judge: impl Fn(DVec2, f64) -> Judged) -> Option<DVec2> {
    let mut squares = vec![Square { middle: DVec2::ZERO, half: reach }];
    let mut next = BinaryHeap::from([Reverse((0_u64, 0_usize))]);
    let (mut least, mut found) = (reach, None);
    while let Some(Reverse((bits, i))) = next.pop() {
        let bound = f64::from_bits(bits);
        if bound + NEAR_ENOUGH_M >= least {
            break;
        }
        let Square { middle, half } = squares[i];
        match judge(middle, half) {
            Judged::Holds => continue,
            Judged::Breaks if middle.length() < least => {
                let slip = nearer(middle, bound, &judge);
                (least, found) = (slip.length(), Some(slip));
            }
            Judged::Breaks | Judged::Unsure => {}
        }
        if half <= FINEST_M {
            continue;
        }
        let half = half * 0.5;
        for side in [DVec2::new(-half, -half), DVec2::new(half, -half), DVec2::new(-half, half), DVec2::splat(half)] {
            let part = Square { middle: middle + side, half };
            let bound = part.nearest();
            if bound + NEAR_ENOUGH_M < least {
                // Distances are not negative: their bits are in the order of their values.
                next.push(Reverse((bound.to_bits(), squares.len())));
                squares.push(part);
            }
        }
    }
    found
}

/// On the way to a slip that breaks, a nearer one that does, by halving.
fn nearer(slip: DVec2, bound: f64, judge: &impl Fn(DVec2, f64) -> Judged) -> DVec2 {
    let length = slip.length();
    let (mut low, mut high) = (bound, length);
    while high - low > 0.001 {
        let middle = 0.5 * (low + high);
        if judge(slip * (middle / length), 0.0) == Judged::Breaks {
            high = middle;
        } else {
            low = middle;
        }
    }
    slip * (high / length.max(1e-12))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_and_a_post_are_found_at_their_distance() {
        let line = |at: DVec2, half: f64| {
            let past = at.dot(DVec2::new(0.6, 0.8)) - 0.123;
            if past > 0.0 {
                Judged::Breaks
            } else if past < -1.5 * half {
                Judged::Holds
            } else {
                Judged::Unsure
            }
        };
        let found = nearest_break(0.5, line).expect("the line");
        assert!((found.length() - 0.123).abs() < 0.006, "{found}");
        let post = |at: DVec2, half: f64| {
            let past = 0.01 - at.distance(DVec2::new(-0.3, 0.2));
            if past > 0.0 {
                Judged::Breaks
            } else if past < -1.5 * half {
                Judged::Holds
            } else {
                Judged::Unsure
            }
        };
        let found = nearest_break(0.5, post).expect("the post");
        assert!((found.length() - (0.13_f64.sqrt() - 0.01)).abs() < 0.007, "{found}");
        assert_eq!(nearest_break(0.3, post), None);
    }
}
