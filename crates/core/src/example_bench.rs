//! The small bench on which every kind shows its example.
use crate::instrument::{Accuracy, Feeds, Instrument};
use crate::notebook::{Came, Claim, Firmware, Load, LoadSort, Model, Notebook, Settings, Specimen};
use crate::quantity::Dim;

fn accuracy(dim: Dim, of_reading: f64, step: f64) -> Accuracy {
    Accuracy { dim, of_reading, step, ..Accuracy::default() }
}

fn simple(id: &str, name: &str, dim: Dim, of_reading: f64, step: f64) -> Instrument {
    Instrument {
        id: id.into(),
        name: name.into(),
        accuracy: vec![accuracy(dim, of_reading, step)],
        ..Instrument::default()
    }
}

/// Good to ± so many steps, whatever it reads.
fn within(id: &str, name: &str, dim: Dim, digits: f64, step: f64) -> Instrument {
    let accuracy = vec![Accuracy { dim, digits, step, ..Accuracy::default() }];
    Instrument { accuracy, ..simple(id, name, dim, 0.0, step) }
}

fn instruments() -> Vec<Instrument> {
    let meter = Instrument {
        id: "meter".into(),
        name: "plug meter".into(),
        about: "plug-in energy meter".into(),
        accuracy: vec![
            accuracy(Dim::Power, 0.01, 0.1),
            accuracy(Dim::Energy, 0.01, 1.0),
            accuracy(Dim::Voltage, 0.005, 0.1),
        ],
        own_draw_w: 0.5,
        true_rms: true,
        mains_v: 120.0,
        ..Instrument::default()
    };
    let scope = Instrument {
        accuracy: vec![
            accuracy(Dim::Time, 0.0, 0.1e-3 / 3600.0),
            accuracy(Dim::Voltage, 0.02, 0.1),
            accuracy(Dim::Frequency, 0.0001, 0.01),
            accuracy(Dim::Ratio, 0.05, 0.001),
        ],
        true_rms: true,
        ..simple("scope", "oscilloscope", Dim::Time, 0.0, 0.0)
    };
    let capture = Instrument {
        about: "oscilloscope with current probe, triggered on the first rise".into(),
        true_rms: true,
        ..simple("capture", "inrush capture", Dim::Power, 0.03, 1.0)
    };
    let dc_meter = Instrument {
        about: "meter in line with 12 V or USB, fed from elsewhere".into(),
        accuracy: vec![
            accuracy(Dim::Power, 0.005, 0.01),
            accuracy(Dim::Energy, 0.005, 0.01),
            accuracy(Dim::Voltage, 0.002, 0.01),
            accuracy(Dim::Current, 0.005, 0.01),
        ],
        feeds: Feeds::Elsewhere,
        ..simple("dc-meter", "direct-current meter", Dim::Power, 0.0, 0.0)
    };
    // ± 1.4 dB: usual for a simple hand-held meter (common practice); it shows nothing usable below 26 dB(A).
    let mut sound = within("sound", "sound level meter", Dim::Level, 14.0, 0.1);
    sound.accuracy[0].floor = 26.0;
    vec![
        meter,
        simple("scale", "floor scale", Dim::Mass, 0.0, 0.05),
        simple("thermometer", "room thermometer", Dim::Temperature, 0.0, 0.1),
        scope,
        simple("tape", "tape measure", Dim::Length, 0.0, 0.1),
        capture,
        dc_meter,
        Instrument { true_rms: true, ..simple("voltmeter", "multimeter", Dim::Voltage, 0.007, 0.1) },
        sound,
        within("thermocouple", "thermocouple", Dim::Temperature, 10.0, 0.1),
        simple("cell", "reference solar cell", Dim::Irradiance, 0.05, 1.0),
    ]
}

fn loads() -> Vec<Load> {
    let fridge = Load {
        id: "fridge".into(),
        name: "fridge".into(),
        sort: LoadSort::Cycling,
        running_w: 85.0,
        average_w: 38.0,
        starting_w: 900.0,
        ..Load::default()
    };
    let heater = Load {
        id: "heater".into(),
        name: "fan heater".into(),
        ohm: 28.8,
        running_w: 500.0,
        ..Load::default()
    };
    vec![heater, fridge]
}

/// A model of 1000 W and 1000 Wh at 120 V, one specimen, an instrument for every dimension and two loads. All invented.
pub fn notebook() -> Notebook {
    let claim = |key: &str, text: &str| Claim {
        id: key.into(),
        key: key.into(),
        text: text.into(),
        ..Claim::default()
    };
    let model = Model {
        id: "m1".into(),
        name: "Example 1000".into(),
        mains_v: 120.0,
        mains_hz: 60.0,
        claims: vec![claim("stored-energy", "1000 Wh"), claim("sustained-output", "1000 W")],
        ..Model::default()
    };
    let specimen = Specimen {
        id: "s1".into(),
        model: "m1".into(),
        came: Came::Bought,
        provenance: "bought for this example".into(),
        firmware: vec![Firmware::default()],
        ..Specimen::default()
    };
    Notebook {
        settings: Settings { tester: "Example".into(), site: "Example bench".into(), ..Settings::default() },
        models: vec![model],
        specimens: vec![specimen],
        instruments: instruments(),
        loads: loads(),
        tests: Vec::new(),
        changes: Vec::new(),
        ..Notebook::default()
    }
}
