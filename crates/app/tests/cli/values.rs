//! Values that no option takes: each gets the sentence that names its range, and nothing is written.

use std::path::Path;

use super::harness::{failing, new_project};

/// Every wrong value with its option gives the same sentence, and no file.
#[track_caller]
fn check(job: &[&str], output: &str, option: &str, values: &[&str], expected: &str) {
    for value in values {
        let args = [job, &["-o", output, option, value]].concat();
        let message = failing(&args);
        assert!(message.contains(expected) && message.contains(value), "{option} {value}: {message}");
        assert!(!Path::new(output).exists(), "{option} {value}");
    }
}

#[test]
fn a_tolerance_is_a_slip_that_a_press_can_make() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--sheet", "a4"]);
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let wrong = ["NaN", "-1", "inf", "-inf", "101", "x"];
    let expected = "a slip is a number of mm from 0 to 100";
    check(&["ticket", &project], &at("ticket.pdf"), "--tolerance", &wrong, expected);
    check(&["pack", &project], &at("pack"), "--tolerance", &wrong, expected);
}

#[test]
fn whole_numbers_out_of_range_and_words_get_one_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--sheet", "a4"]);
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (png, scan) = (at("out.png"), at("ink.png"));
    let wrong = ["NaN", "0", "-1", "-4", "1.5", "10000000000"];
    let whole = |most: &str| format!("is not a whole number from 1 to {most}");
    check(&["new", "--sheet", "a4", &scan], &at("b.slipsheet"), "--booklet", &wrong, &whole("400"));
    check(&["proof", &project], &png, "--page", &wrong, &whole("400"));
    check(&["proof", &project], &png, "--sheet", &wrong, &whole("100"));
    check(&["run", &project], &png, "--copies", &wrong, &whole("5000"));
    check(&["run", &project], &png, "--sheet", &wrong, &whole("100"));
    for copies in wrong {
        assert!(failing(&["cost", &project, "--copies", copies]).contains(&whole("1000000")), "{copies}");
    }
}

#[test]
fn values_that_begin_with_a_minus_reach_their_own_option() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--sheet", "a4"]);
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (png, scan) = (at("out.png"), at("ink.png"));
    let sides = "a side of the sheet must be from 20 to 2000 mm";
    check(&["new", &scan], &at("b.slipsheet"), "--sheet", &["-5x200"], sides);
    check(&["proof", &project], &png, "--slip", &["-2=1,0"], "a slip is N=dx,dy");
    check(&["guide", &project], &at("guide.pdf"), "--margin", &["-3", "NaN"], "mm from 0 to 1000");
    // A name may begin with anything, but an option in its place was forgotten to be filled.
    assert!(failing(&["proof", &project, "-o", "--perfect"]).contains("--output"));
}
