#![no_main]
libfuzzer_sys::fuzz_target!(|bytes: &[u8]| tapemark_acceptance::fuzzed::plan(bytes));
