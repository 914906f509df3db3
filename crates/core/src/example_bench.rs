//! The small bench on which every kind shows its example.
use crate::instrument::{Accuracy, Instrument};
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
    vec![
        meter,
        simple("scale", "floor scale", Dim::Mass, 0.0, 0.05),
        simple("thermometer", "room thermometer", Dim::Temperature, 0.0, 0.1),
        simple("scope", "oscilloscope", Dim::Time, 0.0, 0.1e-3 / 3600.0),
        simple("tape", "tape measure", Dim::Length, 0.0, 0.1),
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

/// A model of 1000 W and 1000 Wh at 120 V, one specimen, a plug meter, a scale, a thermometer, an oscilloscope
/// and two loads. All invented.
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
    }
}
