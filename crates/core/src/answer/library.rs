//! Devices whose figures are known without asking: those of the bench first, then a short list of usual ones.
use super::Device;
use crate::notebook::Notebook;

/// A usual device: name, running W, starting W (0: none), mean W (0: steady), hours a day, where from.
struct Usual(&'static str, f64, f64, f64, f64, &'static str);

/// The list of appliance wattages of the US Department of Energy (energy.gov, estimating appliance energy use).
const DOE: &str = "US Department of Energy, list of appliance wattages";
const PRACTICE: &str = "common practice; a planning value, not a measurement";
const GUIDES: &str = "buyers' guides and pump and air-conditioner makers, order of magnitude only";
const OWNERS: &str = "measurements published by owners";

/// Planning values at 120 V. The starting powers are on the cautious side of what is published.
static USUAL: &[Usual] = &[
    // Label of 398 kWh a year: 45 W on average; on 60–120 W; planning value of the start 800–1,500 W.
    Usual(
        "fridge-freezer",
        100.0,
        1200.0,
        45.0,
        24.0,
        "a label of 398 kWh a year; the start common practice",
    ),
    Usual("chest freezer", 110.0, 900.0, 40.0, 24.0, GUIDES),
    Usual("12 V cool box", 50.0, 100.0, 20.0, 24.0, "makers' labels, the mean 60–70 % below them"),
    Usual("router and modem", 20.0, 0.0, 0.0, 24.0, "published labels of 5–20 W for each of the two"),
    Usual("laptop", 60.0, 0.0, 30.0, 8.0, DOE),
    Usual("desktop computer and monitor", 120.0, 0.0, 0.0, 8.0, DOE),
    Usual("television 50 inch", 85.0, 0.0, 0.0, 4.0, GUIDES),
    Usual("LED lamp", 8.0, 0.0, 0.0, 5.0, GUIDES),
    Usual("phone charger", 15.0, 0.0, 0.0, 2.0, GUIDES),
    Usual("box fan", 75.0, 150.0, 0.0, 8.0, DOE),
    Usual("furnace fan", 500.0, 2000.0, 225.0, 24.0, DOE),
    Usual("small window air conditioner", 475.0, 1500.0, 310.0, 8.0, GUIDES),
    Usual("sump pump 1/3 hp", 700.0, 2100.0, 0.0, 1.0, GUIDES),
    Usual("well pump 1/2 hp", 900.0, 3600.0, 0.0, 0.5, GUIDES),
    Usual("kettle", 1400.0, 0.0, 0.0, 0.25, PRACTICE),
    Usual(
        "microwave oven",
        1300.0,
        1900.0,
        0.0,
        0.25,
        "input taken as 1.5 times the cooking power (common practice)",
    ),
    Usual("coffee maker", 1050.0, 0.0, 0.0, 0.25, DOE),
    Usual("toaster", 1100.0, 0.0, 0.0, 0.1, DOE),
    Usual("hair dryer", 1500.0, 0.0, 0.0, 0.1, DOE),
    Usual("space heater", 1500.0, 0.0, 0.0, 4.0, DOE),
    Usual("electric blanket", 100.0, 0.0, 50.0, 8.0, DOE),
    Usual("circular saw", 1500.0, 4500.0, 0.0, 0.25, PRACTICE),
    Usual("vacuum cleaner", 1200.0, 2400.0, 0.0, 0.25, DOE),
    Usual("CPAP without heating", 25.0, 0.0, 0.0, 8.0, OWNERS),
    Usual("CPAP with heating", 90.0, 0.0, 76.0, 8.0, OWNERS),
];

/// Where the figures of a bench's own loads come from.
pub const MEASURED: &str = "measured on this bench";

/// Every device known by name: loads measured on this bench first, then the usual ones. `origin` says where from.
pub fn known(notebook: &Notebook) -> Vec<Device> {
    let some = |w: f64| (w > 0.0).then_some(w);
    let own = notebook.loads.iter().filter(|l| l.running_w > 0.0).map(|l| Device {
        starting_w: some(l.starting_w).filter(|s| *s > l.running_w),
        average_w: some(l.average_w).filter(|mean| *mean < l.running_w),
        origin: MEASURED.into(),
        ..Device::steady(&l.name, l.running_w)
    });
    let mut all: Vec<Device> = own.filter(|d| d.fault().is_none()).collect();
    for &Usual(name, running, starting, mean, hours, origin) in USUAL {
        if !all.iter().any(|d| d.name.eq_ignore_ascii_case(name)) {
            let medical = name.starts_with("CPAP");
            let (starting_w, average_w) = (some(starting), some(mean));
            let origin = origin.into();
            all.push(Device {
                starting_w,
                average_w,
                hours,
                medical,
                origin,
                ..Device::steady(name, running)
            });
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::number::Marks;
    use crate::shown::Style;
    #[test]
    fn every_usual_device_is_sound_and_says_where_from() {
        let all = known(&Notebook::default());
        assert_eq!(all.len(), USUAL.len());
        for device in &all {
            assert_eq!(device.fault(), None, "{}", device.name);
            assert!(!device.origin.is_empty());
            let read = super::super::device(&device.name, &all, crate::number::Marks::Point);
            assert_eq!(read.as_ref(), Ok(device));
            // What is known of it, typed out, means the same; only where it comes from is the asker's now.
            for (style, marks) in [(Style::POINT, Marks::Point), (Style::COMMA, Marks::Comma)] {
                let read = super::super::device(&device.line(style), &[], marks);
                assert_eq!(read, Ok(Device { origin: String::new(), ..device.clone() }));
            }
        }
    }
    #[test]
    fn what_the_bench_measured_comes_first() {
        let notebook = crate::example_bench::notebook();
        let all = known(&notebook);
        assert_eq!((all[0].name.as_str(), all[0].running_w), ("fan heater", 500.0));
        assert_eq!((all[1].name.as_str(), all[1].average_w), ("fridge", Some(38.0)));
        assert!(all[1].origin.contains("this bench"));
    }
}
