//! What the program says with its exit code.

use elbowroom::report::Outcome;

/// Bad input: the command line (clap ends with the same code), a file, or an output that cannot be written.
pub(crate) const BAD_INPUT: u8 = 2;
/// A defect of this program; the number is `EX_SOFTWARE` of the BSD `sysexits.h`.
pub(crate) const INTERNAL_FAULT: u8 = 70;
/// Ended at once by Ctrl-C: 128 and the number of the signal, as shells have it.
pub(crate) const INTERRUPTED: u8 = 130;

/// The exit code of an outcome.
pub(crate) fn code(outcome: Outcome) -> u8 {
    match outcome {
        Outcome::Fits => 0,
        Outcome::DoesNotFit => 1,
        Outcome::NoProof => 3,
    }
}
