//! How the rooms' surfaces see each other: the share of what leaves one patch that reaches another.

use super::bounce::Patch;
use super::links::Pair;
use rayon::prelude::*;

/// Row by row, which patches a patch sees and the share of their exitance that reaches it.
#[derive(Debug, Clone)]
pub(super) struct Factors {
    starts: Vec<usize>,
    entries: Vec<(u32, f32)>,
    /// Beside each entry the share as it is seen from the receiving patch's middle, before it is evened with the
    /// share back and balanced: nearer the truth of one patch, though not of the whole.
    seen: Vec<f32>,
    /// At most this share of the light comes back a round later.
    pub returned: f32,
}

impl Factors {
    /// Of nothing.
    pub fn none() -> Factors {
        Factors { starts: vec![0], entries: Vec::new(), seen: Vec::new(), returned: 0.0 }
    }

    #[inline]
    pub fn row(&self, i: usize) -> &[(u32, f32)] {
        &self.entries[self.starts[i]..self.starts[i + 1]]
    }

    /// As [`Self::row`], by what is seen from the patch's middle; no row adds up to more than one.
    #[inline]
    pub fn seen_row(&self, i: usize) -> impl Iterator<Item = (u32, f32)> + '_ {
        let row = self.starts[i]..self.starts[i + 1];
        self.entries[row.clone()].iter().map(|e| e.0).zip(self.seen[row].iter().copied())
    }

    /// An upper bound on the share of light that one round gives back: for any weights above zero, the largest
    /// growth of a weight in a round is one (Collatz 1942); a few rounds from even weights bring it near the truth.
    fn most_returned(&self, patches: &[Patch]) -> f32 {
        let reflectance: Vec<f32> =
            patches.iter().map(|p| p.reflectance.iter().fold(0.0_f64, |a, r| a.max(*r)) as f32).collect();
        let mut weights = vec![1.0_f32; patches.len()];
        // No row adds up to more than one.
        let mut most = reflectance.iter().copied().fold(0.0, f32::max);
        for _ in 0..5 {
            let next: Vec<f32> = (0..patches.len())
                .into_par_iter()
                .with_min_len(64)
                .map(|i| reflectance[i] * self.row(i).iter().map(|(j, f)| f * weights[*j as usize]).sum::<f32>())
                .collect();
            let growth =
                next.iter().zip(&weights).map(|(a, b)| if *b > 1e-12 { a / b } else { 0.0 }).fold(0.0, f32::max);
            most = most.min(growth);
            weights = next;
        }
        most
    }
}

impl Factors {
    /// From what each patch has of each other, as [`super::links::Links`] found them among these patches: shares are
    /// reciprocal, and no patch gives more than there is. What is not covered by surfaces are openings and people.
    ///
    /// `closed` is how much of what each sees are surfaces at the least, 0 where that is not known: among many things
    /// some of that is missed, and would be lost at each bounce.
    pub fn of_pairs(patches: &[Patch], pairs: &[Vec<Pair>], closed: &[f32]) -> Factors {
        let n = patches.len();
        let mut starts = vec![0_usize; n + 1];
        for p in pairs.iter().flatten() {
            starts[p.i as usize + 1] += 1;
            starts[p.j as usize + 1] += 1;
        }
        for i in 0..n {
            starts[i + 1] += starts[i];
        }
        // Row by row as they come, then the other way round, which leaves every row in order: sums come out the same
        // however the pairs were found.
        let mut next = starts.clone();
        let mut found = vec![(0_u32, [0.0_f32; 2]); starts[n]];
        for p in pairs.iter().flatten() {
            let [ij, ji] = p.shares.map(|s| s * p.open);
            for (row, of, own) in [(p.i, p.j, [ij, ji]), (p.j, p.i, [ji, ij])] {
                found[next[row as usize]] = (of, own);
                next[row as usize] += 1;
            }
        }
        let mut next = starts.clone();
        let mut entries = vec![(0_u32, 0.0_f32); starts[n]];
        let mut seen = vec![0.0_f32; starts[n]];
        let mut covered = vec![0.0_f32; n];
        for i in 0..n {
            for (j, [ij, ji]) in &found[starts[i]..starts[i + 1]] {
                let at = &mut next[*j as usize];
                let (low, high) = if i < *j as usize { (i, *j as usize) } else { (*j as usize, i) };
                let ratio = (patches[high].area_m2 / patches[low].area_m2) as f32;
                // The row is the other's: what it has of this one.
                let (of_low, of_high) = if i < *j as usize { (*ij, *ji) } else { (*ji, *ij) };
                let mean = 0.5 * (of_low + of_high * ratio);
                entries[*at] = (i as u32, if i == high { mean } else { mean / ratio });
                seen[*at] = *ji;
                covered[*j as usize] += ji;
                *at += 1;
            }
        }
        for (i, sum) in covered.iter().enumerate().filter(|c| *c.1 > 1.0) {
            seen[starts[i]..starts[i + 1]].iter_mut().for_each(|s| *s /= sum);
        }
        for (i, c) in covered.iter_mut().enumerate() {
            if *c < closed[i] && *c > MOSTLY * closed[i] {
                let more = closed[i] / *c;
                seen[starts[i]..starts[i + 1]].iter_mut().for_each(|s| *s *= more);
                *c = closed[i];
            }
            *c = c.min(1.0);
        }
        let mut factors = Factors { starts, entries, seen, returned: 1.0 };
        balance(&mut factors, &covered);
        factors.returned = factors.most_returned(patches);
        factors
    }
}

/// A patch of which less than this share of what it sees is found is left as it is: it may lie against something.
const MOSTLY: f32 = 0.6;

/// Rounds of balancing: each shrinks what is left of the error several times.
const BALANCING: usize = 8;

/// Scales rows and columns alike, so that reciprocity stays and every row adds up to what it covers
/// (symmetric scaling after Sinkhorn & Knopp 1967). Without it energy would leak or grow at each bounce.
fn balance(factors: &mut Factors, covered: &[f32]) {
    let mut scale = vec![1.0_f32; covered.len()];
    for _ in 0..BALANCING {
        scale = (0..covered.len())
            .into_par_iter()
            .with_min_len(64)
            .map(|i| {
                let sum: f32 = factors.row(i).iter().map(|(j, f)| f * scale[*j as usize]).sum::<f32>() * scale[i];
                if sum > 0.0 { scale[i] * (covered[i] / sum).sqrt() } else { scale[i] }
            })
            .collect();
    }
    // Patches coarse beside the room they are in may not come into balance: none returns more than all.
    let scale: Vec<f32> = (0..covered.len())
        .map(|i| {
            let sum: f32 = factors.row(i).iter().map(|(j, f)| f * scale[*j as usize]).sum::<f32>() * scale[i];
            if sum > 1.0 { scale[i] / sum } else { scale[i] }
        })
        .collect();
    for i in 0..covered.len() {
        let row = factors.starts[i]..factors.starts[i + 1];
        for (j, f) in &mut factors.entries[row] {
            *f *= scale[i] * scale[*j as usize];
        }
    }
}
