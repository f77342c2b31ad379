//! `slipsheet match`: coverages for colours, line by line and by options.

use serde_json::{Value, json};
use slipsheet::cli::{Ending, Outcome};
use slipsheet_core::colour::Lab;

use crate::harness::{failing, fine, slipsheet_reading};

fn lines(command: &str, lines: &[Value]) -> (Ending, Vec<Value>) {
    let input: String = lines.iter().map(|l| format!("{l}\n")).collect();
    let (outcome, out, _) = slipsheet_reading(&[command, "-"], input.as_bytes());
    let Outcome::Done(ending) = outcome else { panic!("a window was asked for") };
    (ending, out.lines().map(|l| serde_json::from_str(l).unwrap()).collect())
}

fn lab(value: &Value) -> Lab {
    let v: Vec<f64> = serde_json::from_value(value.clone()).unwrap();
    Lab::new(v[0], v[1], v[2]).unwrap()
}

const CURVE: [[f64; 2]; 3] = [[0.0, 0.0], [0.5, 0.68], [1.0, 1.0]];

/// A line of three inks, the first two with a curve.
fn line(extra: Value) -> Value {
    let mut line = json!({"stock": [91, 1, 6], "inks": [
        {"solid": [58, 58, 22], "curve": CURVE}, {"solid": [54, -30, -36], "curve": CURVE, "opacity": 0.2},
        {"solid": [27, 2, 1]},
    ]});
    line.as_object_mut().unwrap().extend(extra.as_object().unwrap().clone());
    line
}

#[test]
fn what_was_mixed_is_matched_and_what_is_matched_mixes_so() {
    let covers: Vec<Vec<f64>> =
        (0..27).map(|i| (0..3).map(|k| f64::from(i / 3_i32.pow(k) % 3) * 0.4 + 0.1).collect()).collect();
    let mix: Vec<Value> = covers.iter().map(|cover| line(json!({"cover": cover}))).collect();
    let (_, mixed) = lines("mix", &mix);
    let wanted: Vec<Value> = mixed.iter().map(|m| line(json!({"want": m["lab"]}))).collect();
    let (ending, found) = lines("match", &wanted);
    assert_eq!((ending, found.len()), (Ending::Fine, 27));
    let again: Vec<Value> = found.iter().map(|f| line(json!({"cover": f["cover"]}))).collect();
    let (_, again) = lines("mix", &again);
    for ((mixed, found), again) in mixed.iter().zip(&found).zip(&again) {
        assert!(found["de00"].as_f64().unwrap() < 0.1, "{found}");
        assert!(lab(&again["lab"]).ciede2000(lab(&found["lab"])) < 0.02, "{found} {again}");
        let told = lab(&mixed["lab"]).ciede2000(lab(&found["lab"]));
        assert!((told - found["de00"].as_f64().unwrap()).abs() < 1e-6);
    }
}

#[test]
fn an_ink_sum_is_kept_and_a_wider_one_is_no_farther() {
    let want = json!([15, 5, -10]);
    let all: Vec<Value> =
        [0.4, 0.9, 1.6, 3.0].iter().map(|s| line(json!({"want": want, "ink_sum": s}))).collect();
    let (_, found) = lines("match", &all);
    let mut before = f64::INFINITY;
    for (found, sum) in found.iter().zip([0.4, 0.9, 1.6, 3.0]) {
        let cover: Vec<f64> = serde_json::from_value(found["cover"].clone()).unwrap();
        assert!(cover.iter().sum::<f64>() <= sum + 1e-9, "{found}");
        let far = found["de00"].as_f64().unwrap();
        assert!(far <= before + 0.02, "{far} after {before}");
        before = far;
    }
}

#[test]
fn a_line_that_cannot_be_used_says_why_and_the_others_are_answered() {
    let (ending, found) = lines(
        "match",
        &[
            line(json!({"want": [50, 0, 0]})),
            line(json!({"cover": [1, 0, 0]})),
            line(json!({"want": [50, 0, 0], "ink_sum": -1})),
            json!({"stock": [93, 0, 2], "inks": [], "want": [50, 0, 0]}),
            line(json!({"want": [500, 0, 0]})),
        ],
    );
    assert_eq!((ending, found.len()), (Ending::Warnings, 5));
    assert!(found[0]["cover"].is_array());
    let wrong = |i: usize| found[i]["error"].as_str().unwrap().to_owned();
    assert!(wrong(1).contains("slipsheet match --help"), "{}", wrong(1));
    assert!(wrong(2).contains("add up to"), "{}", wrong(2));
    assert!(wrong(3).contains("1 to 6 inks"), "{}", wrong(3));
    assert!(wrong(4).contains("0 to 150"), "{}", wrong(4));
}

#[test]
fn options_match_one_colour() {
    let args = [
        "match",
        "--stock",
        "93,0,2",
        "--ink",
        "55,-37,-50",
        "--ink=48,74,-3",
        "--want",
        "60,10,-20",
        "--json",
    ];
    let found: Value = serde_json::from_str(&fine(&args)).unwrap();
    assert_eq!(found["cover"].as_array().unwrap().len(), 2);
    assert!(fine(&args[..8]).starts_with("cover"));
    assert!(failing(&["match", "--stock", "93,0,2"]).contains("--want"));
}
