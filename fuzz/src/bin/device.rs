//! Any line that describes a buyer's device.
#![no_main]
use libfuzzer_sys::fuzz_target;
use trueplate_core::answer::{Device, device};
use trueplate_core::number::Marks;

fuzz_target!(|text: &str| {
    let known = [Device::steady("fridge", 85.0)];
    for marks in [Marks::Point, Marks::Comma] {
        if let Ok(d) = device(text, &known, marks) {
            assert!(d.mean_w().is_finite() && d.mean_w() >= 0.0);
        }
    }
});
