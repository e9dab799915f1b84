#![no_main]

use std::sync::Once;

static HOOK: Once = Once::new();

/// The reader of DXF panics on some files; that is caught where it is asked, and is not what is looked for.
fn pass_over_what_is_caught() {
    let strict = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        if !panic.location().is_some_and(|l| ["/dxf-", "/chrono-"].iter().any(|n| l.file().contains(n))) {
            strict(panic);
        }
    }));
}

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    HOOK.call_once(pass_over_what_is_caught);
    tapemark_acceptance::fuzzed::drawing(bytes);
});
