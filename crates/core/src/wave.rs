//! A waveform as an oscilloscope samples it: what voltage, how clean, and how long it was gone.
//!
//! In two lines: `wave::analyse(&samples, &Setup { .. })`, or a [`wave::Analyser`](Analyser) that takes the samples piece by piece
//! in constant memory and comes to the same. Formulas: IEEE 1057 (sine fit), IEC 61000-4-7 (harmonic subgroups),
//! IEC 61000-4-30 (Urms(1/2), dips).
mod analyser;
pub mod batch;
mod cycle;
mod edge;
pub mod half_cycle;
pub mod harmonics;
pub mod mains;
mod mains_words;
mod outcome;
mod overtones;
mod period;
pub mod ride;
pub mod sine;
pub mod spectrum;
mod watch;
mod windows;

pub use analyser::{Analyser, analyse};
pub use cycle::{SINE_THD, Shape};
pub use outcome::{Interruption, Outcome, Setup};
