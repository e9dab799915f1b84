//! Asks everything about the plans of a range of seeds: `every_answer FROM TO [ANSWER]`.
//!
//! A line a seed: its slowest answer, how long that took and all of them, and the most memory so far; at the end each
//! answer's time over all. Exits with 1 when any answer panicked, took more than five seconds, or the memory grew past
//! 1 GiB.

use std::panic::{AssertUnwindSafe, catch_unwind, set_hook};
use std::process::ExitCode;
use std::time::{Duration, Instant};
use tapemark_acceptance::every::{ANSWERS, of_long_run};

const SLOW: Duration = Duration::from_secs(5);
const MUCH_MIB: u64 = 1024;

/// The most memory this process has held, MiB; 0 where the system does not say.
fn peak_mib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    line.and_then(|l| l.split_whitespace().next()).and_then(|n| n.parse::<u64>().ok()).unwrap_or(0) / 1024
}

fn main() -> ExitCode {
    let numbers: Vec<u64> = std::env::args().skip(1).take(2).filter_map(|a| a.parse().ok()).collect();
    let only = std::env::args().nth(3);
    let [from, to] = numbers[..] else {
        eprintln!("every_answer FROM TO [ANSWER]");
        return ExitCode::from(2);
    };
    set_hook(Box::new(|info| eprintln!("{info}")));
    let (mut worst, mut faults) = (Duration::ZERO, Vec::new());
    let begun = Instant::now();
    let mut by_answer = [Duration::ZERO; ANSWERS.len()];
    for seed in from..to {
        let plan = of_long_run(seed);
        let (mut slowest, mut took) = ("", Duration::ZERO);
        let all = Instant::now();
        for ((name, answer), sum) in ANSWERS.into_iter().zip(&mut by_answer) {
            if only.as_deref().is_some_and(|o| o != name) {
                continue;
            }
            let start = Instant::now();
            if catch_unwind(AssertUnwindSafe(|| answer(&plan))).is_err() {
                faults.push(format!("seed {seed}: {name} panicked"));
            }
            let time = start.elapsed();
            *sum += time;
            if time > took {
                (slowest, took) = (name, time);
            }
            if time > SLOW {
                faults.push(format!("seed {seed}: {name} took {:.1} s", time.as_secs_f64()));
            }
        }
        worst = worst.max(took);
        let (took, all) = (took.as_secs_f64(), all.elapsed().as_secs_f64());
        println!("{seed}\t{slowest}\t{took:.3} s\tall {all:.2} s\tpeak {} MiB", peak_mib());
    }
    if peak_mib() > MUCH_MIB {
        faults.push(format!("{} MiB were held", peak_mib()));
    }
    let each = begun.elapsed().as_secs_f64() / (to - from).max(1) as f64;
    println!(
        "{} plans, {each:.2} s each, the slowest answer {:.2} s, {} faults",
        to - from,
        worst.as_secs_f64(),
        faults.len()
    );
    let mut by_answer: Vec<_> = ANSWERS.iter().map(|a| a.0).zip(by_answer).collect();
    by_answer.sort_by_key(|(_, time)| std::cmp::Reverse(*time));
    by_answer.iter().for_each(|(name, time)| println!("{:9.2} s  {name}", time.as_secs_f64()));
    faults.iter().for_each(|f| println!("FAULT {f}"));
    if faults.is_empty() { ExitCode::SUCCESS } else { ExitCode::from(1) }
}
