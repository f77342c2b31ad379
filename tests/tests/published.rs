//! The model against published figures and open press characterisations. The source stands beside each.
#![expect(clippy::print_stdout, reason = "the figures of the plain multiply are shown beside ours")]

use slipsheet_core::colour::{Lab, linear_from_srgb, srgb_from_linear};
use slipsheet_core::overprint::{Film, Ground, Overprint, TRAP};
use slipsheet_core::stock::Finish;
use slipsheet_core::tone::murray_davies;
use slipsheet_core::units::SheetFormat;
use slipsheet_tests::characterisation::{Characterisation, spread};
use slipsheet_tests::csv;

/// Sharma, Wu, Dalal, "The CIEDE2000 Color-Difference Formula", Color Research and Application 30(1), 2005,
/// supplementary test data.
#[test]
fn ciede2000_gives_the_34_published_differences() {
    let rows = csv("ciede2000_sharma2005.csv");
    assert_eq!(rows.len(), 34);
    for r in rows {
        let lab = |i: usize| Lab::new(r[i], r[i + 1], r[i + 2]).unwrap();
        assert!((lab(0).ciede2000(lab(3)) - r[6]).abs() < 1e-4, "{r:?}");
        assert!((lab(3).ciede2000(lab(0)) - r[6]).abs() < 1e-4, "{r:?}");
    }
}

/// IEC 61966-2-1:1999, 5.2: the two pieces of the transfer function meet at 0.0031308 / 0.04045.
/// 0.2140 for 0.5 is the formula worked by hand.
#[test]
fn the_srgb_curve_passes_its_published_points() {
    for (encoded, linear) in [(0.0, 0.0), (0.040_45, 0.003_130_8), (0.5, 0.214_041_1), (1.0, 1.0)] {
        assert!((linear_from_srgb(encoded) - linear).abs() < 1e-6, "{encoded}");
        assert!((srgb_from_linear(linear) - encoded).abs() < 1e-5, "{linear}");
    }
}

/// Lab to XYZ under D50 against the values that the characterisations print side by side; theirs use the white
/// (0.9642, 1, 0.8249) of ICC.1 and ours that of CIE 15 (0.96422, 1, 0.82521), hence the tolerance.
#[test]
fn lab_and_xyz_agree_with_measured_pairs() {
    let text = std::fs::read_to_string(slipsheet_tests::data("FOGRA39L.txt")).unwrap();
    let mut seen = 0;
    for line in text.lines().skip_while(|l| l.trim() != "BEGIN_DATA").skip(1).take(1617) {
        let v: Vec<f64> = line.split_whitespace().map(|v| v.parse().unwrap()).collect();
        let xyz = Lab::new(v[8], v[9], v[10]).unwrap().xyz();
        let near = |got: f64, printed: f64| (got * 100.0 - printed).abs() < 0.05;
        assert!(near(xyz.x, v[5]) && near(xyz.y, v[6]) && near(xyz.z, v[7]), "{line}: {xyz:?}");
        seen += 1;
    }
    assert_eq!(seen, 1617);
}

/// ISO 216:2007, tables 1 and 2; ANSI/ASME Y14.1 sizes A and B. Legal is customary (common practice, no source).
#[test]
fn sheet_sizes_are_those_of_the_standards() {
    let expected = [
        (SheetFormat::A2, 420.0, 594.0),
        (SheetFormat::A3, 297.0, 420.0),
        (SheetFormat::A4, 210.0, 297.0),
        (SheetFormat::A5, 148.0, 210.0),
        (SheetFormat::A6, 105.0, 148.0),
        (SheetFormat::B4, 250.0, 353.0),
        (SheetFormat::B5, 176.0, 250.0),
        (SheetFormat::Letter, 215.9, 279.4),
        (SheetFormat::Legal, 215.9, 355.6),
        (SheetFormat::Tabloid, 279.4, 431.8),
        (SheetFormat::Ledger, 431.8, 279.4),
    ];
    for (format, width, height) in expected {
        let size = format.size();
        assert!(
            (size.width.get() - width).abs() < 1e-9 && (size.height.get() - height).abs() < 1e-9,
            "{format:?}"
        );
    }
}

/// Murray-Davies, A. Murray, "Monochrome reproduction in photoengraving", Journal of the Franklin Institute 221,
/// 1936, in its density form `(1 - 10^-Dt) / (1 - 10^-Ds)`. The numbers are worked by hand from the formula:
/// densities over paper 0.30 and 1.40 give 0.4988 / 0.9602 = 0.5195; 0.70 and 1.50 give 0.8005 / 0.9684 = 0.8266.
#[test]
fn murray_davies_gives_the_worked_values() {
    #[expect(clippy::disallowed_methods, reason = "a test may use the platform's own power")]
    let reflectance = |density: f64| 10.0_f64.powf(-density);
    for (tint, solid, coverage) in
        [(0.30, 1.40, 0.5195), (0.70, 1.50, 0.8266), (0.0, 1.4, 0.0), (1.4, 1.4, 1.0)]
    {
        let got = murray_davies(1.0, reflectance(solid), reflectance(tint));
        assert!((got - coverage).abs() < 1e-4, "{got} is not {coverage}");
    }
}

fn sets() -> [(&'static str, Characterisation, [f64; 4]); 3] {
    // Name, data, bounds: mean and 95 % without black, mean with it, mean with measured overprints.
    [
        ("coated", Characterisation::read("FOGRA39L.txt", Finish::Coated), [1.9, 4.5, 1.8, 1.2]),
        ("uncoated white", Characterisation::read("FOGRA29L.txt", Finish::Uncoated), [1.85, 3.6, 2.0, 1.4]),
        (
            "uncoated yellowish",
            Characterisation::read("FOGRA30L.txt", Finish::Uncoated),
            [2.3, 4.5, 2.45, 2.0],
        ),
    ]
}

/// FOGRA39L, 29L, 30L (tests/data): overprinted solids from paper and single solids alone, order C, M, Y, K.
#[test]
fn solids_over_solids_are_predicted_from_single_inks() {
    for (black, mean, worst) in [(false, 3.1, 6.7), (true, 3.5, 6.5)] {
        let (mut ours, mut plain) = (vec![], vec![]);
        for (_, set, _) in sets() {
            ours.extend(set.solid_errors(&set.model(set.n, TRAP, set.floor), black));
            plain.extend(set.solid_errors(&set.model(set.n, 1.0, 0.0), black));
        }
        let (ours, plain) = (spread(ours), spread(plain));
        println!("solids, with black {black}: ours {ours:.2?}; plain multiply {plain:.2?}");
        assert!(ours.mean <= mean && ours.worst <= worst, "with black {black}: {ours:?}");
    }
}

/// FOGRA39L, 29L, 30L (tests/data): every patch, tone curves from the single-ink ramps, n of the paper's finish.
#[test]
fn tints_are_predicted_from_single_ink_ramps() {
    for (name, set, [mean, p95, with_black, with_overprints]) in sets() {
        let model = set.model(set.n, TRAP, set.floor);
        let curves = set.curves(&model);
        let simple = set.model(set.n, 1.0, 0.0);
        let mut measured = model.clone();
        for mask in (3..8_usize).filter(|mask| mask.count_ones() > 1) {
            let solid = std::array::from_fn(|k| (mask >> k & 1) as f64);
            measured.replace(mask, set.at(solid));
        }

        let ours = spread(set.errors(&model, &curves, false));
        let black = spread(set.errors(&model, &curves, true));
        let plain = spread(set.errors(&simple, &set.curves(&simple), false));
        let known = spread(set.errors(&measured, &curves, false));
        println!(
            "{name}: ours {ours:.2?}; with black {black:.2?}; plain {plain:.2?}; overprints known {known:.2?}"
        );
        assert!(ours.mean <= mean && ours.p95 <= p95, "{name}: {ours:?}");
        assert!(black.mean <= with_black, "{name}: with black {black:?}");
        assert!(known.mean <= with_overprints, "{name}: {known:?}");
    }
}

/// The wrong printing order costs accuracy on the same data, so the order is worth asking for.
#[test]
fn the_wrong_printing_order_predicts_worse() {
    let error = |order: [usize; 4]| {
        let all: Vec<f64> = sets()
            .iter()
            .flat_map(|(_, set, _)| {
                let model = set.model_in_order(order, set.n, TRAP, set.floor);
                set.solid_errors_in_order(&model, order, false)
            })
            .collect();
        spread(all).mean
    };
    let (right, wrong) = (error([0, 1, 2, 3]), error([2, 1, 0, 3]));
    println!("order C M Y {right:.2}, order Y M C {wrong:.2}");
    assert!(right + 0.2 < wrong, "{right} {wrong}");
}

/// FOGRA39L, 29L, 30L (tests/data): solids measured on one paper, shown on another. Between finishes the model halves
/// the error at least; between two papers of one finish presses differ more than papers, and it gains nothing.
#[test]
fn an_ink_measured_on_one_paper_is_estimated_on_another() {
    let sets = sets();
    for (from, to) in [(0, 1), (1, 0), (0, 2), (2, 0), (1, 2), (2, 1)] {
        let ((a, measured, _), (b, other, _)) = (&sets[from], &sets[to]);
        let ground = Ground { paper: other.paper(), floor: other.floor, trap: TRAP, n: other.n };
        let shown = measured.solids().map(|solid| {
            let film =
                Film { solid, on: measured.paper(), on_floor: measured.floor, opacity: 0.0, emission: 1.0 };
            Overprint::new(&ground, &[film]).unwrap().mix(&[1.0]).lab()
        });
        let against =
            |labs: [Lab; 4]| spread(labs.iter().zip(other.solids()).map(|(l, o)| l.ciede2000(o)).collect());
        let (ours, unchanged) = (against(shown), against(measured.solids()));
        println!("{a} to {b}: ours {ours:.2?}; unchanged {unchanged:.2?}");
        if measured.floor == other.floor {
            assert!(ours.mean <= 2.4 && ours.worst < unchanged.worst, "{a} to {b}: {ours:?} {unchanged:?}");
        } else {
            assert!(ours.mean < 0.5 * unchanged.mean, "{a} to {b}: {ours:?} {unchanged:?}");
        }
    }
}
