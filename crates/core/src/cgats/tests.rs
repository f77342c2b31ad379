//! What `cgats` holds to.

use super::*;
use proptest::prelude::*;

const LAB: &str = "CGATS.17\r\nORIGINATOR \"a # in quotes\"  # a comment\r\nNUMBER_OF_FIELDS 6\r\n\
    BEGIN_DATA_FORMAT\r\nSAMPLE_ID\tSAMPLE_NAME CMYK_C LAB_L LAB_A LAB_B\r\nEND_DATA_FORMAT\r\nBEGIN_DATA\r\n\
    1 \"bare paper\" 0 95 0 -2\r\n2 solid 100 55,5 -37\r\n -50\r\nEND_DATA\r\n";

#[test]
fn quotes_comments_line_ends_and_broken_rows_are_understood() {
    let table = Table::parse(LAB).unwrap();
    assert_eq!(table.keyword("originator"), Some("a # in quotes"));
    let m = table.measurements().unwrap();
    assert_eq!((m.channels[0].as_str(), m.colours), ("C", ColourFields::Lab));
    assert_eq!(m.patches[0].name, "bare paper");
    assert_eq!((m.patches[1].cover[0], m.patches[1].lab.l()), (1.0, 55.5));
}

#[test]
fn patches_of_chosen_channels_come_in_the_order_asked_for() {
    let rows = "0 0 0 95 0 0\n100 0 0 55 -30 -40\n0 50 0 70 40 0\n0 0 100 20 0 0\n100 100 0 25 10 -40\n";
    let text = format!(
        "CGATS.17\nBEGIN_DATA_FORMAT\nCMYK_C CMYK_M CMYK_K LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n{rows}END_DATA\n"
    );
    let m = Table::parse(&text).unwrap().measurements().unwrap();
    assert_eq!((m.channel("cmyk_m"), m.channel("K"), m.channel("Y")), (Some(1), Some(2), None));
    let covers: Vec<Vec<f64>> = m.of(&[1, 0]).into_iter().map(|p| p.cover).collect();
    assert_eq!(covers, [[0.0, 0.0], [0.0, 1.0], [0.5, 0.0], [1.0, 1.0]]);
}

#[test]
fn what_is_wrong_is_said_with_its_place() {
    let check = |text: String, expected: &str| {
        let error = Table::parse(&text).and_then(|t| t.measurements()).unwrap_err().to_string();
        assert!(error.contains(expected), "{error}");
    };
    check(String::new(), "no list of fields");
    check(LAB.replace("95 0 -2", "95 0"), "values for 6 fields");
    check(LAB.replace("95 0 -2", "95 zero -2"), "row 1: LAB_A cannot be “zero”");
    check(LAB.replace("95 0 -2", "195 0 -2"), "LAB_L cannot be “195”");
    check(LAB.replace("CMYK_C", "RGB_R"), "how much of each ink");
    check(LAB.replace("LAB_L", "D_RED"), "no Lab, XYZ or spectrum");
    check(LAB.replace(" 100 ", " 300 "), "CMYK_C cannot be “300”");
    check(
        LAB.replace("1 \"bare paper\" 0 95 0 -2\r\n", "").replace("2 solid 100 55,5 -37\r\n -50\r\n", ""),
        "no measurements",
    );
    check(LAB.replace("\r\n -50", "\r\n -50 7"), "line 10 has 7 values");
    check(LAB.replace("\r\nEND_DATA\r\n", "\r\n"), "ends early, after 2 rows");
    check(LAB.replace("55,5 -37\r\n -50\r\nEND_DATA\r\n", "5"), "ends early, after 1 row;");
    check(LAB.replace("NUMBER_OF_FIELDS 6", "NUMBER_OF_SETS 3"), "ends early, after 2 rows");
    assert!(Table::parse(&LAB.replace("NUMBER_OF_FIELDS 6", "NUMBER_OF_SETS 2")).is_ok());
}

#[test]
fn a_table_of_many_lines_is_read_in_time_and_an_endless_value_is_cut() {
    let rows = "1 paper 0 95 0 -2\n".repeat(200_000);
    let head = LAB.replace("\r\n", "\n");
    let text = head.replace("1 \"bare paper\" 0 95 0 -2\n", &rows);
    let begun = std::time::Instant::now();
    assert_eq!(Table::parse(&text).unwrap().rows.len(), 200_001);
    assert!(begun.elapsed().as_secs() < 20, "{:?}", begun.elapsed());
    let endless = head.replace("95 0 -2", &format!("95 {} -2", "x".repeat(1 << 20)));
    let error = Table::parse(&endless).and_then(|t| t.measurements()).unwrap_err().to_string();
    assert!(error.len() < 200 && error.contains("row 1: LAB_A"), "{error}");
}

#[test]
fn xyz_and_spectra_give_the_same_white() {
    let table = |fields: &str, values: &str| {
        let text = format!(
            "CGATS.17\nBEGIN_DATA_FORMAT\nCMYK_C {fields}\nEND_DATA_FORMAT\nBEGIN_DATA\n0 {values}\nEND_DATA\n"
        );
        Table::parse(&text).unwrap().measurements().unwrap().patches[0].lab
    };
    let xyz = table("XYZ_X XYZ_Y XYZ_Z", "96.422 100 82.521");
    assert!(xyz.ciede2000(Lab::WHITE) < 0.01, "{xyz}");
    for prefix in ["nm", "SPECTRAL_NM_", "SPECTRAL_NM", "Any_word_"] {
        let names: Vec<String> = (38..=73).map(|n| format!("{prefix}{}", n * 10)).collect();
        for (value, l) in [("100", 100.0), ("1.0", 100.0), ("18.4187", 50.0)] {
            let got = table(&names.join(" "), &vec![value; names.len()].join(" "));
            assert!(got.ciede2000(Lab::new(l, 0.0, 0.0).unwrap()) < 0.01, "{prefix}: {got}");
        }
    }
    let pairs = vec!["SPECTRAL_NM SPECTRAL_PCT"; 16].join(" ");
    let values: Vec<String> = (0..16).map(|i| format!("{} 100", 400 + 20 * i)).collect();
    assert!(table(&pairs, &values.join(" ")).ciede2000(Lab::WHITE) < 0.01);
}

proptest! {
    #[test]
    fn no_bytes_make_the_reader_fall_over(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let text = String::from_utf8_lossy(&bytes).into_owned();
        if let Ok(table) = Table::parse(&text) {
            prop_assert!(table.measurements().is_ok() || !table.rows.is_empty());
        }
    }

    #[test]
    fn a_table_with_anything_in_it_is_read_or_refused(
        cut in 0..230_usize, put in "[A-Z_0-9 \"#\r\n.,-]{0,12}", at in 0..230_usize,
    ) {
        let mut text: String = LAB.chars().take(cut.max(at)).collect();
        text.insert_str(at.min(text.len()), &put);
        text.push_str("\r\nEND_DATA");
        if let Ok(m) = Table::parse(&text).and_then(|t| t.measurements()) {
            prop_assert!(m.patches.iter().all(|p| p.cover.iter().all(|c| (0.0..=1.0).contains(c))));
        }
    }
}
