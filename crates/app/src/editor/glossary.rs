//! What the trade's words mean, told to those who point at them.

use std::collections::HashMap;
use std::sync::OnceLock;
use tapemark_words::{Language, say, spoken};

/// What a label's word means; none for words that everybody knows.
pub(crate) fn meaning(label: &str) -> Option<&'static str> {
    static OF_LABEL: [OnceLock<HashMap<&'static str, &'static str>>; Language::ALL.len()] =
        [const { OnceLock::new() }; Language::ALL.len()];
    let all =
        OF_LABEL[spoken() as usize].get_or_init(|| WORDS.iter().map(|(word, text)| (say!(word), say!(text))).collect());
    all.get(label).copied()
}

/// Labels and what they mean, both by their identifiers.
const WORDS: &[(&str, &str)] = &[
    // Camera.
    ("lens-label", "meaning-of-lens"),
    ("t-stop", "meaning-of-t-stop"),
    ("format", "meaning-of-format"),
    ("delivered-aspect", "meaning-of-delivered-aspect"),
    ("sensor-width", "meaning-of-sensor-width"),
    ("sensor-height", "meaning-of-sensor-height"),
    ("neutral-density", "meaning-of-neutral-density"),
    ("focus-at", "meaning-of-focus-at"),
    ("close-focus", "meaning-of-close-focus"),
    ("pan-label", "meaning-of-pan"),
    ("tilt-label", "meaning-of-tilt"),
    ("roll", "meaning-of-roll"),
    ("lens-height", "meaning-of-lens-height"),
    ("ei", "meaning-of-ei"),
    ("shutter", "meaning-of-shutter"),
    ("frame-rate", "meaning-of-frame-rate"),
    ("white-balance", "meaning-of-white-balance"),
    ("angle-of-view", "meaning-of-angle-of-view"),
    ("in-focus", "meaning-of-in-focus"),
    ("focus-close-focus", "meaning-of-focus-close-focus"),
    ("behind-the-camera", "meaning-of-behind-the-camera"),
    ("behind-the-face", "meaning-of-behind-the-face"),
    ("exposure-wants", "meaning-of-exposure-wants"),
    // Light.
    ("head", "meaning-of-head"),
    ("beam", "meaning-of-beam"),
    ("field", "meaning-of-field"),
    ("spot-0-flood-1", "meaning-of-spot-0-flood-1"),
    ("dimmer", "meaning-of-dimmer"),
    ("output", "meaning-of-output"),
    ("colour-temperature-label", "meaning-of-colour-temperature"),
    ("spectrum-label", "meaning-of-spectrum"),
    ("scrims", "meaning-of-scrims"),
    ("diffusion", "meaning-of-diffusion"),
    ("barn-doors", "meaning-of-barn-doors"),
    ("leaves-label", "meaning-of-barn-doors"),
    ("grid-before-it", "meaning-of-grid-before-it"),
    ("grid-hides-past", "meaning-of-grid-hides-past"),
    ("add-a-gel", "meaning-of-add-a-gel"),
    ("strength", "meaning-of-strength"),
    ("power-factor", "meaning-of-power-factor"),
    ("mount", "meaning-of-mount"),
    ("key-stop-t", "meaning-of-key-stop-t"),
    ("key-to-fill", "meaning-of-key-to-fill"),
    ("key-fill-label", "meaning-of-key-fill"),
    ("wall-falls-at", "meaning-of-wall-falls-at"),
    ("key-direction-label", "meaning-of-key-direction"),
    ("face-level-label", "meaning-of-face-level"),
    ("background-label", "meaning-of-background"),
    ("hair-light-label", "meaning-of-hair-light"),
    ("colour-ciede2000-label", "meaning-of-colour-ciede2000"),
    ("meters-receptor", "meaning-of-meters-receptor"),
    ("hot-head-clear-ahead", "meaning-of-hot-head-clear-ahead"),
    ("hot-head-clear-beside", "meaning-of-hot-head-clear-beside"),
    ("sensor-behind-the-lens", "meaning-of-sensor-behind-the-lens"),
    ("domes-constant-c", "meaning-of-domes-constant-c"),
    ("spot-meters-constant-k", "meaning-of-spot-meters-constant-k"),
    ("exposure-tolerance", "meaning-of-exposure-tolerance"),
    // Blocking.
    ("face-share-wanted", "meaning-of-face-share-wanted"),
    ("seen-at-least", "meaning-of-face-share-wanted"),
    ("size-wanted", "meaning-of-size-wanted"),
    ("size", "meaning-of-size-wanted"),
    ("room-behind-camera", "meaning-of-room-behind-camera"),
    ("way-out-at-least", "meaning-of-way-out-at-least"),
    ("slip-allowed", "meaning-of-slip-allowed"),
    ("takes", "meaning-of-takes"),
    ("rig-label", "meaning-of-rig"),
    // Power and the place.
    ("breaker-label", "meaning-of-breaker"),
    ("board-to-outlet", "meaning-of-board-to-outlet"),
    ("cables-copper", "meaning-of-cables-copper"),
    ("its-copper", "meaning-of-its-copper"),
    ("mains", "meaning-of-mains"),
    ("sill", "meaning-of-sill"),
    ("glass-lets-through", "meaning-of-glass-lets-through"),
    ("width-of-the-roll", "meaning-of-width-of-the-roll"),
    ("north-on-the-plan", "meaning-of-north-on-the-plan"),
    ("rehearsal", "meaning-of-rehearsal"),
    ("wrap", "meaning-of-wrap"),
];
