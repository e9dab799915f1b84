//! The cheapest order: exact by dynamic programming over sets where they are few, searched beyond.

use rustc_hash::FxHashMap;

/// Up to this many set-ups no order is cheaper than the one found.
pub const EXACT_SETUPS: usize = 12;
/// A minute too late costs as many minutes as this.
const LATE_WEIGHT: f64 = 20.0;

/// When a set-up may be taken, minutes after midnight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Not before.
    pub earliest: f64,
    /// Done by.
    pub latest: f64,
}

/// Set-ups to be put in order. All lists are by set-up.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// The day begins, minutes after midnight.
    pub start_min: f64,
    /// Rehearsal and takes.
    pub minutes: Vec<f64>,
    /// Change from an empty floor.
    pub first_change: Vec<f64>,
    /// Change from one (row) to another.
    pub change: Vec<Vec<f64>>,
    /// Hours.
    pub windows: Vec<Window>,
    /// Who is in it, a bit each.
    pub people: Vec<u64>,
    /// What a waiting minute weighs.
    pub waiting_weight: f64,
    /// Place kept by hand, from 0.
    pub pinned: Vec<Option<usize>>,
}

/// An order and whether it is proved.
#[derive(Debug, Clone, PartialEq)]
pub struct Solved {
    /// Set-ups in order.
    pub order: Vec<usize>,
    /// Whether no order costs less.
    pub exact: bool,
}

/// What an order costs.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Minutes until the last take, waiting and lateness weighed in.
    pub cost: f64,
    /// Each set-up begins, in order, minutes after midnight.
    pub starts: Vec<f64>,
}

/// The cost of an order: minutes from the start to the last take, plus the weighed minutes that people wait
/// between their first and last set-up, plus twenty for each minute past a set-up's hour. Each begins as soon
/// as it can.
#[must_use]
pub fn cost_of(p: &Problem, order: &[usize]) -> Run {
    let mut now = p.start_min;
    let mut late = 0.0;
    let mut starts = Vec::with_capacity(order.len());
    let mut first = [f64::NAN; 64];
    let mut last = [0.0; 64];
    let mut own = [0.0; 64];
    let mut before: Option<usize> = None;
    for &j in order {
        let change = before.map_or(p.first_change[j], |i| p.change[i][j]);
        let start = (now + change).max(p.windows[j].earliest);
        now = start + p.minutes[j];
        late += (now - p.windows[j].latest).max(0.0);
        starts.push(start);
        let mut m = p.people[j];
        while m != 0 {
            let k = m.trailing_zeros() as usize;
            m &= m - 1;
            if first[k].is_nan() {
                first[k] = start;
            }
            last[k] = now;
            own[k] += p.minutes[j];
        }
        before = Some(j);
    }
    let waits: f64 = (0..64).filter(|k| !first[*k].is_nan()).map(|k| last[k] - first[k] - own[k]).sum();
    Run { cost: now - p.start_min + p.waiting_weight * waits + LATE_WEIGHT * late, starts }
}

/// The cheapest order found: proved for up to [`EXACT_SETUPS`], searched beyond.
#[must_use]
pub fn solve(p: &Problem) -> Solved {
    if p.minutes.len() <= EXACT_SETUPS {
        Solved { order: exact(p, usize::MAX), exact: true }
    } else {
        Solved { order: searched(p), exact: false }
    }
}

/// A way to have done a set of set-ups.
#[derive(Debug, Clone, Copy)]
struct Label {
    /// Minutes after midnight.
    now: f64,
    /// Waiting and lateness so far, weighed.
    extra: f64,
    /// The label it grew from, in the layer before.
    from: u32,
    last: u8,
}

/// Grows sets of set-ups one at a time, keeping every label that could still become the best; at most `width`
/// a layer (all: exact).
fn exact(p: &Problem, width: usize) -> Vec<usize> {
    let n = p.minutes.len();
    if n == 0 {
        return Vec::new();
    }
    let all = if n >= 64 { u64::MAX } else { (1u64 << n) - 1 };
    let everyone = p.people.iter().fold(0, |a, b| a | b);
    let idle = p.windows.iter().any(|w| w.earliest > p.start_min);
    let worst_rate = p.waiting_weight * f64::from(everyone.count_ones());
    // An earlier label is no worse than a later one if all the waiting it may yet add is paid for.
    let dominates = |a: &Label, b: &Label| {
        if idle {
            a.now <= b.now + 1e-9 && a.extra + worst_rate * (b.now - a.now) <= b.extra + 1e-9
        } else {
            a.now + a.extra <= b.now + b.extra + 1e-9 && a.now <= b.now + 1e-9
        }
    };
    let into: Vec<f64> =
        (0..n).map(|j| (0..n).filter(|i| *i != j).map(|i| p.change[i][j]).fold(p.first_change[j], f64::min)).collect();
    let hours: Vec<usize> = (0..n).filter(|i| p.windows[*i].latest.is_finite()).collect();
    let mut layers: Vec<Vec<(u64, Label)>> = vec![vec![(0, Label { now: p.start_min, extra: 0.0, from: 0, last: 0 })]];
    for place in 0..n {
        let before = &layers[place];
        let is_pinned = p.pinned.contains(&Some(place));
        let mut next: FxHashMap<(u64, u8), Vec<Label>> = FxHashMap::default();
        for (ix, (done, label)) in before.iter().enumerate() {
            let started = (0..n).filter(|i| done >> i & 1 == 1).fold(0, |m, i| m | p.people[i]);
            // Who is in one of what is left, and who in two or more.
            let (once, twice) = (0..n)
                .filter(|i| done >> i & 1 == 0)
                .fold((0_u64, 0_u64), |(once, twice), i| (once | p.people[i], twice | once & p.people[i]));
            for j in (0..n).filter(|j| done >> j & 1 == 0) {
                if p.pinned[j].is_some_and(|k| k != place) || p.pinned[j].is_none() && is_pinned {
                    continue;
                }
                let after = done | 1 << j;
                let still = twice | once & !p.people[j];
                let change = if place == 0 { p.first_change[j] } else { p.change[usize::from(label.last)][j] };
                let start = (label.now + change).max(p.windows[j].earliest);
                let now = start + p.minutes[j];
                let through = f64::from((started & (still | p.people[j])).count_ones());
                let during = f64::from((started & still & !p.people[j]).count_ones());
                let wait = through * (start - label.now) + during * p.minutes[j];
                let late = (now - p.windows[j].latest).max(0.0);
                let grown = Label {
                    now,
                    extra: label.extra + p.waiting_weight * wait + LATE_WEIGHT * late,
                    from: ix as u32,
                    last: j as u8,
                };
                let list = next.entry((after, j as u8)).or_default();
                if list.iter().any(|l| dominates(l, &grown)) {
                    continue;
                }
                list.retain(|l| !dominates(&grown, l));
                list.push(grown);
            }
        }
        let layer: Vec<(u64, Label)> =
            next.into_iter().flat_map(|((set, _), labels)| labels.into_iter().map(move |l| (set, l))).collect();
        // What is left to do counts too: at the least its own minutes and the cheapest change into each.
        let rest = |done: u64| (0..n).filter(|i| done >> i & 1 == 0).map(|i| p.minutes[i] + into[i]).sum::<f64>();
        // And what is too late already.
        let doomed = |done: u64, now: f64| {
            let late = |i: usize| (now + into[i] + p.minutes[i] - p.windows[i].latest).max(0.0);
            LATE_WEIGHT * hours.iter().filter(|i| done >> **i & 1 == 0).map(|i| late(*i)).sum::<f64>()
        };
        let mut kept_rest: FxHashMap<u64, f64> = FxHashMap::default();
        for (set, _) in &layer {
            kept_rest.entry(*set).or_insert_with(|| rest(*set));
        }
        let mut keyed: Vec<(f64, (u64, Label))> =
            layer.into_iter().map(|x| (x.1.now + x.1.extra + kept_rest[&x.0] + doomed(x.0, x.1.now), x)).collect();
        keyed.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.0.cmp(&b.1.0)).then(a.1.1.last.cmp(&b.1.1.last)));
        keyed.truncate(width);
        layers.push(keyed.into_iter().map(|x| x.1).collect());
    }
    // Pins that cannot be kept together leave nothing: then they are dropped.
    let Some(mut ix) = layers[n].iter().position(|l| l.0 == all) else {
        return exact(&Problem { pinned: vec![None; n], ..p.clone() }, width);
    };
    let mut order = Vec::with_capacity(n);
    for layer in layers[1..].iter().rev() {
        let label = layer[ix].1;
        order.push(usize::from(label.last));
        ix = label.from as usize;
    }
    order.reverse();
    order
}

/// Labels kept a layer where all are too many, times set-ups: each grows as many as are left.
const BEAM: usize = 160_000;

fn searched(p: &Problem) -> Vec<usize> {
    let n = p.minutes.len();
    let starts = if n <= 62 { vec![exact(p, BEAM / n), nearest_first(p)] } else { vec![nearest_first(p)] };
    let better = starts.into_iter().map(|o| improved(p, o));
    better.min_by(|a, b| cost_of(p, a).cost.total_cmp(&cost_of(p, b).cost)).unwrap_or_default()
}

/// Always the cheapest next.
fn nearest_first(p: &Problem) -> Vec<usize> {
    let n = p.minutes.len();
    let mut order: Vec<usize> = Vec::with_capacity(n);
    for place in 0..n {
        let pinned = (0..n).find(|j| p.pinned[*j] == Some(place));
        let free = (0..n).filter(|j| !order.contains(j) && p.pinned[*j].is_none());
        let cost = |j: &usize| {
            let change = order.last().map_or(p.first_change[*j], |i| p.change[*i][*j]);
            change + p.windows[*j].latest.min(3000.0) * 0.05
        };
        let next = pinned.or_else(|| free.min_by(|a, b| cost(a).total_cmp(&cost(b))));
        order.extend(next);
    }
    order
}

/// Steps through orders that a search may take: half a second or so.
const MOST_STEPS: usize = 30_000_000;

/// Moves runs of set-ups elsewhere, turns runs over and exchanges pairs until nothing helps.
fn improved(p: &Problem, mut order: Vec<usize>) -> Vec<usize> {
    let n = order.len();
    let allowed = |o: &[usize]| o.iter().enumerate().all(|(k, j)| p.pinned[*j].is_none_or(|at| at == k));
    let mut best = cost_of(p, &order).cost;
    // Very long days are left as they are after so many tries.
    let mut tries = MOST_STEPS / n.max(1);
    loop {
        let mut found: Option<(f64, Vec<usize>)> = None;
        let mut tried = |o: Vec<usize>| {
            tries = tries.saturating_sub(1);
            if tries > 0 && allowed(&o) {
                let c = cost_of(p, &o).cost;
                if c < found.as_ref().map_or(best, |f| f.0) - 1e-9 {
                    found = Some((c, o));
                }
            }
        };
        for length in 1..=4.min(n) {
            for i in 0..=n - length {
                for to in 0..=n - length {
                    if to == i {
                        continue;
                    }
                    let mut o = order.clone();
                    let run: Vec<usize> = o.drain(i..i + length).collect();
                    o.splice(to..to, run);
                    tried(o);
                }
            }
        }
        for i in 0..n {
            for j in i + 1..n {
                let mut o = order.clone();
                o.swap(i, j);
                tried(o);
                let mut o = order.clone();
                o[i..=j].reverse();
                tried(o);
            }
        }
        match found {
            Some((c, o)) => (best, order) = (c, o),
            None => return order,
        }
        if tries == 0 {
            return order;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_setups_is_no_day() {
        let p = Problem {
            start_min: 540.0,
            minutes: vec![],
            first_change: vec![],
            change: vec![],
            windows: vec![],
            people: vec![],
            waiting_weight: 0.25,
            pinned: vec![],
        };
        assert_eq!(solve(&p), Solved { order: vec![], exact: true });
    }
}
