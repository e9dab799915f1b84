//! Numbers that look drawn by lot, and are the same each time.

/// Splitmix64 (Steele, Lea & Flood 2014).
#[derive(Debug, Clone)]
pub struct Lot(pub u64);

impl Lot {
    /// The next number.
    pub fn draw(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut x = self.0;
        x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        x ^ (x >> 31)
    }
    /// One below `n`; 0 when there is none.
    pub fn below(&mut self, n: usize) -> usize {
        (self.draw() % n.max(1) as u64) as usize
    }
    /// A number between two.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.draw() >> 11) as f64 / (1_u64 << 53) as f64
    }
    /// One of a list.
    pub fn one<T: Clone>(&mut self, list: &[T]) -> Option<T> {
        (!list.is_empty()).then(|| list[self.below(list.len())].clone())
    }
    /// Whether something that happens so many times in a hundred happens now.
    pub fn percent(&mut self, times: usize) -> bool {
        self.below(100) < times
    }
    /// A number between two, in whole steps.
    pub fn steps(&mut self, low: f64, high: f64, step: f64) -> f64 {
        let n = ((high - low) / step).floor().max(0.0) as usize;
        let k = (low / step).round() + self.below(n + 1) as f64;
        // Dividing by a whole number, where the step has one, gives the decimal that would be typed.
        let inverse = (1.0 / step).round();
        if (inverse * step - 1.0).abs() < 1e-12 { k / inverse } else { k * step }
    }
}
