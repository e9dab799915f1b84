//! Names as people in several countries write them. None is anybody's.

use crate::Lot;

const PEOPLE: [&str; 18] = [
    "Anna",
    "Bo",
    "Zoë",
    "Jürgen",
    "Łucja",
    "İpek",
    "Ђорђе",
    "Мария",
    "Пётр",
    "Ελένη",
    "Νίκος",
    "美咲",
    "健太",
    "王芳",
    "서연",
    "The neighbour",
    "Old man",
    "O’Brien \"Red\"",
];
const ROOMS: [&str; 14] = [
    "Kitchen",
    "Living room",
    "Küche",
    "Wohnzimmer",
    "Couloir d’entrée",
    "Sypialnia",
    "Кухня",
    "Прихожая",
    "Κουζίνα",
    "Σαλόνι",
    "台所",
    "客厅",
    "거실",
    "Hall & stairs <1>",
];
const THINGS: [&str; 16] = [
    "Table",
    "Sofa",
    "Bücherregal",
    "Étagère",
    "Spiegel",
    "Krzesło",
    "Стол",
    "Шкаф",
    "Τραπέζι",
    "Καθρέφτης",
    "机",
    "本棚",
    "沙发",
    "의자",
    "Bed, double",
    "A wardrobe that grandmother left, too heavy to move",
];
const TITLES: [&str; 8] =
    ["The long evening", "Nachtzug", "Été indien", "Тихая вода", "Το φως", "夏の終わり", "雨天", "Untitled; take 2"];

fn one(lot: &mut Lot, of: &[&str]) -> String {
    lot.one(of).unwrap_or_default().to_string()
}

pub(super) fn person(lot: &mut Lot) -> String {
    one(lot, &PEOPLE)
}
pub(super) fn room(lot: &mut Lot) -> String {
    one(lot, &ROOMS)
}
pub(super) fn thing(lot: &mut Lot) -> String {
    one(lot, &THINGS)
}
pub(super) fn title(lot: &mut Lot) -> String {
    one(lot, &TITLES)
}
pub(super) fn place(lot: &mut Lot) -> String {
    if lot.percent(20) { String::new() } else { one(lot, &ROOMS) }
}
/// A line or three.
pub(super) fn note(lot: &mut Lot) -> String {
    let lines: Vec<String> = (0..=lot.below(3)).map(|_| format!("{}: {}", person(lot), thing(lot))).collect();
    lines.join("\n")
}
