//! Circuits of odd layouts: an answer that holds together or a fault with its place, never a panic.
#![no_main]

use elbowroom_tests::circuits::circuit_faults;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    assert_eq!(circuit_faults(bytes), Vec::<String>::new());
});
