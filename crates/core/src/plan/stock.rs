//! What the gels, sheets and formats on offer are called in the language that is spoken.
//!
//! A plan keeps their English names, so that a plan opened in another language stays as it is. Names that are no longer on
//! offer stay here: older plans have them.

use tapemark_words::say;

const NAMES: [(&str, &str); 35] = [
    ("full CTB", "full-ctb"),
    ("half CTB", "half-ctb"),
    ("quarter CTB", "quarter-ctb"),
    ("eighth CTB", "eighth-ctb"),
    ("full CTO", "full-cto"),
    ("half CTO", "half-cto"),
    ("quarter CTO", "quarter-cto"),
    ("eighth CTO", "eighth-cto"),
    ("straw", "straw"),
    ("amber", "amber"),
    ("red", "red"),
    ("green", "green"),
    ("blue", "blue"),
    ("full plus-green", "full-plus-green"),
    ("full minus-green", "full-minus-green"),
    ("light diffusion", "light-diffusion"),
    ("half diffusion", "half-diffusion"),
    ("full diffusion", "full-diffusion"),
    ("Full frame 36 × 24", "full-frame-36-24"),
    ("35 mm film aperture 24.89 × 18.66", "film-aperture-35-mm"),
    ("APS-C 22.3 × 14.9", "aps-c-22-3-14-9"),
    ("MFT 17.3 × 13.0", "mft-17-3-13-0"),
    ("1-inch 13.2 × 8.8", "one-inch-13-2-8-8"),
    ("full blue correction", "full-blue-correction"),
    ("half blue correction", "half-blue-correction"),
    ("quarter blue correction", "quarter-blue-correction"),
    ("eighth blue correction", "eighth-blue-correction"),
    ("full amber correction", "full-amber-correction"),
    ("half amber correction", "half-amber-correction"),
    ("quarter amber correction", "quarter-amber-correction"),
    ("eighth amber correction", "eighth-amber-correction"),
    ("quarter diffusion", "quarter-diffusion"),
    ("APS-C 23.5 × 15.6", "aps-c-23-5-15-6"),
    ("Phone, 1/1.3-inch 9.8 × 7.3", "phone-9-8-7-3"),
    ("Phone, 1/2.55-inch 5.6 × 4.2", "phone-5-6-4-2"),
];

/// A stock gel, diffusion or format as the spoken language calls it; any other name as it is.
#[must_use]
pub fn stock_name(name: &str) -> &str {
    NAMES.iter().find(|(kept, _)| *kept == name).map_or(name, |(_, id)| say!(id))
}
