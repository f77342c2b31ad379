//! What screens do to one another, and to coarse scans.

use super::*;

#[test]
fn a_fine_screen_wants_one_and_a_half_pixels_a_line() {
    use slipsheet_core::reading::{Mode, Reading, Ruling};
    use slipsheet_core::units::Degrees;
    let read = |lpi: f64| {
        move |p: &mut Printing| {
            p.sheet.layers[0].reading =
                Reading::of(Mode::Screened { ruling: Ruling::new(lpi), angle: Degrees::new(45.0) });
        }
    };
    // The scan has 150 dpi: enough for 100 lines an inch, too few for 120.
    check(read(100.0), &[]);
    let found = check(read(120.0), &[Kind::LowResolution]);
    assert!(found[0].sentence.contains("needs 180 or more"), "{found:?}");
}

#[test]
fn screens_at_one_angle_are_warned_of_with_better_angles() {
    use slipsheet_core::reading::{Mode, Reading, Ruling};
    use slipsheet_core::units::Degrees;
    let read = |lpi: f64, angle: f64| {
        Reading::of(Mode::Screened { ruling: Ruling::new(lpi), angle: Degrees::new(angle) })
    };
    let beating = |second: Reading| {
        let (mut p, images) = sound();
        let mut other = another(&p);
        p.sheet.layers[0].reading = read(75.0, 45.0);
        other.reading = second;
        "other".clone_into(&mut other.name);
        p.sheet.layers.push(other);
        findings(&p, &images, &[]).into_iter().find(|f| f.kind == Kind::Beat)
    };
    let found = beating(read(70.0, 45.0)).expect("75 and 70 lpi at one angle beat");
    // Their difference is 5 lines an inch, so the beat is 25.4 / 5 = 5.1 mm long.
    assert!(
        found.sentence.contains("5.1 mm") && found.sentence.contains("Angles that beat least"),
        "{}",
        found.sentence
    );
    assert!(beating(read(75.0, 15.0)).is_none());
    assert!(beating(Reading::default()).is_none());
}

#[test]
fn three_screens_that_beat_together_are_one_finding_with_angles_that_do_not() {
    use slipsheet_core::reading::{Mode, Reading, Ruling};
    use slipsheet_core::units::Degrees;
    let found = |screens: [(f64, f64); 3], one_pass: bool| -> Vec<Finding> {
        let (mut p, images) = sound();
        let layer = p.sheet.layers[0].clone();
        p.sheet.layers.clear();
        for (i, (name, (lpi, angle))) in (0..).zip(["sea", "sand", "weed"].into_iter().zip(screens)) {
            let mode = Mode::Screened { ruling: Ruling::new(lpi), angle: Degrees::new(angle) };
            let reading = Reading::of(mode);
            let with = (one_pass && i > 0).then_some(LayerId::new(0));
            let (id, name) = (LayerId::new(i), name.to_owned());
            p.sheet.layers.push(Layer { id, name, reading, with, ..layer.clone() });
        }
        findings(&p, &images, &[]).into_iter().filter(|f| f.kind == Kind::Beat).collect()
    };
    for one_pass in [false, true] {
        let beats = found([(75.0, 15.0), (70.0, 45.0), (75.0, 75.0)], one_pass);
        assert_eq!(beats.len(), 1, "{beats:?}");
        let message = &beats[0].sentence;
        assert!(message.contains("“sea”, “sand” and “weed” together beat every 5.1 mm"), "{message}");
        // The angles that it names, tried.
        let angle = |name: &str| -> f64 {
            let (_, rest) = message.split_once(&format!("“{name}” at ")).unwrap();
            rest.split_once('°').unwrap().0.parse().unwrap()
        };
        let better = [(75.0, angle("sea")), (70.0, angle("sand")), (75.0, angle("weed"))];
        let left = found(better, one_pass);
        assert!(left.iter().all(|f| f.sentence.contains("beat faintly every 1.0 mm")), "{message} {left:?}");
        assert_eq!(message.contains("(a faint beat of 1.0 mm is left)"), !left.is_empty(), "{message}");
    }
    assert!(found([(75.0, 15.0), (75.0, 45.0), (75.0, 75.0)], false).is_empty());
}
