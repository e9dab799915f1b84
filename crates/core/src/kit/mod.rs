//! What to bring: what the shots need against what there is, and what can stand in.

mod file;
mod needs;
mod stand_in;

pub use file::{KIT_FORMAT, KitFile, KitItem, MAX_KIT_BYTES, Thing, kit_from_json, kit_schema, kit_to_json};
pub use needs::{CABLE_LENGTHS_M, Need, SHEET_M, needs};
pub use stand_in::{Foil, StandIn, stand_ins};

use crate::plan::Plan;
use serde::Serialize;
use tapemark_words::{figure, say};

/// How a missing thing is best come by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// It is there.
    Owned,
    /// For the price of the day.
    Rent,
    /// For good.
    Buy,
    /// No price is known.
    Unpriced,
}

impl Way {
    /// In words.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            Way::Owned => say!("owned"),
            Way::Rent => say!("rent"),
            Way::Buy => say!("buy"),
            Way::Unpriced => say!("to-find"),
        }
    }
}

/// One line of the kit list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KitLine {
    /// What.
    pub thing: Thing,
    /// Its name.
    pub name: String,
    /// How many, in its unit.
    pub needed: f64,
    /// Unit of the count; empty: pieces.
    pub unit: &'static str,
    /// Where it is wanted.
    pub why: String,
    /// How many there are.
    pub owned: f64,
    /// How many are missing.
    pub missing: f64,
    /// How the missing ones are come by.
    pub way: Way,
    /// What they cost that way, in the kit's currency.
    pub cost: Option<f64>,
    /// Weight of all, kilograms.
    pub weight_kg: f64,
    /// Volume of all, litres.
    pub volume_l: f64,
    /// Whether the shots work without it.
    pub only_if_wanted: bool,
}

/// The kit list of a plan.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct KitList {
    /// Line by line.
    pub lines: Vec<KitLine>,
    /// Currency of the prices.
    pub currency: String,
    /// Price of what is rented.
    pub rent_cost: f64,
    /// Price of what is bought.
    pub buy_cost: f64,
    /// Lines that are missing and have no price.
    pub unpriced: usize,
    /// To carry, kilograms.
    pub weight_kg: f64,
    /// To carry, litres.
    pub volume_l: f64,
    /// What can take the place of what is missing.
    pub stand_ins: Vec<StandIn>,
}

impl KitList {
    /// A price in words, with the currency if one is given.
    #[must_use]
    pub fn price(&self, amount: f64) -> String {
        let amount = figure(amount, 2);
        if self.currency.is_empty() { amount } else { format!("{amount} {}", self.currency) }
    }
}

/// The kit a plan needs, against what is owned and priced.
#[must_use]
pub fn kit_list(plan: &Plan, kit: &KitFile) -> KitList {
    let wanted = needs(plan);
    let shares = allotted(&wanted, kit);
    let lines: Vec<KitLine> = wanted.into_iter().zip(shares).map(|(n, owned)| line(n, owned, kit)).collect();
    let sum = |f: &dyn Fn(&KitLine) -> f64| lines.iter().filter(|l| !l.only_if_wanted).map(f).sum::<f64>();
    let cost = |way: Way| sum(&|l| if l.way == way { l.cost.unwrap_or(0.0) } else { 0.0 });
    let missing: Vec<Thing> = lines
        .iter()
        .filter(|l| l.missing > 0.0 && matches!(l.thing, Thing::Lamp { .. }))
        .map(|l| l.thing.clone())
        .collect();
    KitList {
        currency: kit.currency.clone(),
        rent_cost: cost(Way::Rent),
        buy_cost: cost(Way::Buy),
        unpriced: lines.iter().filter(|l| l.way == Way::Unpriced && !l.only_if_wanted).count(),
        weight_kg: sum(&|l| l.weight_kg),
        volume_l: sum(&|l| l.volume_l),
        stand_ins: stand_ins(plan, kit, &missing),
        lines,
    }
}

/// How much of what is owned goes to each need: nothing twice. What serves few needs goes first, and each need
/// takes the least that serves it.
fn allotted(wanted: &[Need], kit: &KitFile) -> Vec<f64> {
    let mut left: Vec<f64> = kit.items.iter().map(|i| i.count).collect();
    let serving = |n: &Need| {
        kit.items.iter().enumerate().filter(|(_, i)| i.thing.serves(&n.thing)).map(|(i, _)| i).collect::<Vec<_>>()
    };
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by_key(|i| (wanted[*i].only_if_wanted, serving(&wanted[*i]).len()));
    let mut out = vec![0.0; wanted.len()];
    for i in order {
        let mut items = serving(&wanted[i]);
        // Shorter and thinner cable first.
        let size = |k: usize| match kit.items[k].thing {
            Thing::Cable { length_m, conductor_mm2 } => length_m * conductor_mm2,
            _ => 0.0,
        };
        items.sort_by(|a, b| size(*a).total_cmp(&size(*b)));
        for k in items {
            let take = (wanted[i].count - out[i]).min(left[k]).max(0.0);
            out[i] += take;
            left[k] -= take;
        }
    }
    out
}

fn line(n: Need, owned: f64, kit: &KitFile) -> KitLine {
    let items: Vec<&KitItem> = kit.items.iter().filter(|i| i.thing.serves(&n.thing)).collect();
    let missing = (n.count - owned).max(0.0);
    let least = |f: &dyn Fn(&KitItem) -> Option<f64>| items.iter().filter_map(|i| f(i)).reduce(f64::min);
    let (rent, buy) = (least(&|i| i.rent_price), least(&|i| i.buy_price));
    let (way, each) = match (rent, buy) {
        _ if missing <= 0.0 => (Way::Owned, None),
        (Some(r), Some(b)) if b <= r => (Way::Buy, Some(b)),
        (Some(r), _) => (Way::Rent, Some(r)),
        (None, Some(b)) => (Way::Buy, Some(b)),
        (None, None) => (Way::Unpriced, None),
    };
    let each_kg = items.iter().find_map(|i| i.weight_kg).unwrap_or_else(|| n.thing.usual_weight_kg());
    let each_l = items.iter().find_map(|i| i.volume_l).unwrap_or_else(|| n.thing.usual_volume_l());
    KitLine {
        name: n.thing.name(),
        unit: n.thing.unit(),
        needed: n.count,
        why: n.why,
        owned,
        missing,
        way,
        cost: each.map(|e| e * missing),
        weight_kg: each_kg * n.count,
        volume_l: each_l * n.count,
        only_if_wanted: n.only_if_wanted,
        thing: n.thing,
    }
}
