//! Measured data against the model that is fitted to it.
#![expect(clippy::print_stdout, reason = "the fitted figures are shown")]

use slipsheet_core::calibrate::fit_measured;
use slipsheet_core::cgats::{ColourFields, Table};
use slipsheet_core::stock::Finish;

/// FOGRA29L (tests/data): uncoated, the ramps of C, M, Y, K and the overprinted solids, read as measured data.
#[test]
fn a_characterisation_predicts_its_own_ramps() {
    let text = std::fs::read_to_string(slipsheet_tests::data("FOGRA29L.ti3")).unwrap();
    let measured = Table::parse(&text).unwrap().measurements().unwrap();
    assert_eq!((measured.channels.concat().as_str(), measured.colours), ("CMYK", ColourFields::Lab));
    assert_eq!(measured.patches.len(), 1485);
    let result = fit_measured(&measured.patches, &measured.channels, Finish::Uncoated).unwrap();
    println!("n {:.2} {:?}, floor {:.3}, trap {:?}", result.n, result.n_range, result.floor, result.trap);
    for ink in &result.inks {
        let all: Vec<f64> = ink.steps.iter().map(|s| s.delta_e).collect();
        let (mean, worst) =
            (all.iter().sum::<f64>() / all.len() as f64, all.iter().copied().fold(0.0, f64::max));
        println!(
            "{}: {} steps, CIEDE2000 mean {mean:.2}, worst {worst:.2}, rms {:.4}",
            ink.name,
            all.len(),
            ink.rms
        );
        assert!(all.len() >= 5 && mean < 1.5 && worst < 3.0 && ink.rms < 0.01, "{}", ink.name);
    }
    let trap = result.trap.unwrap();
    assert!(trap.after <= trap.before, "{trap:?}");
}
