//! Light that lies over a small square without an edge: its corners say the rest.

/// Light of the sky is taken to lie even between the corners where the middle differs by no more than this part of it.
const EVEN: f64 = 0.02;

/// Light over a square, by places from 0 to 1 each way.
pub(super) struct Slope {
    /// At (0, 0), (1, 0), (0, 1) and (1, 1), lux.
    corners: [f64; 4],
}

impl Slope {
    /// Asks for the light at the corners and in the middle; none where an edge crosses the square.
    pub fn over(lux: impl Fn(f64, f64) -> f64) -> Option<Slope> {
        let corners = [lux(0.0, 0.0), lux(1.0, 0.0), lux(0.0, 1.0), lux(1.0, 1.0)];
        let lit = corners.iter().filter(|c| **c > 0.0).count();
        if lit % 4 != 0 {
            return None;
        }
        let slope = Slope { corners };
        let middle = lux(0.5, 0.5);
        ((middle - slope.at(0.5, 0.5)).abs() <= EVEN * middle).then_some(slope)
    }

    /// At a place, lux.
    pub fn at(&self, u: f64, v: f64) -> f64 {
        let [a, b, c, d] = self.corners;
        let mix = |a: f64, b: f64, t: f64| a + (b - a) * t;
        mix(mix(a, b, u), mix(c, d, u), v)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_edge_is_no_slope_and_a_plane_is_one() {
        let plane = Slope::over(|u, v| 3.0 + u + 2.0 * v).unwrap();
        assert!((plane.at(0.25, 0.75) - 4.75).abs() < 1e-12);
        assert!(Slope::over(|u, _| if u < 0.3 { 0.0 } else { 1.0 }).is_none());
        assert!(Slope::over(|u, v| if (u - 0.5).abs() + (v - 0.5).abs() < 0.2 { 0.0 } else { 1.0 }).is_none());
        assert!(Slope::over(|_, _| 0.0).is_some_and(|dark| dark.at(0.5, 0.1) == 0.0));
    }
}
