//! The spot PDF, read back by its own bytes; tests/tests/pack.rs asks other programs.

use slipsheet_core::units::{SheetFormat, Size};

use slipsheet_core::reading::{Mode, Reading, Swing};
use slipsheet_paper::fold::Face;

use super::*;
use crate::plates::PlateForm;
use crate::plates::tests::job;

#[test]
fn separations_carry_the_inks_names_and_the_file_is_the_same_every_time() {
    let (mut p, images) =
        job(SheetFormat::Custom(Size::mm(80.0, 60.0)), &["Hip-berry red", "Ink-bottle blue"], 5.0);
    p.sheet.layers[1].face = Face::Back;
    let make = || document(&p, &images, &PlateOptions::default(), &Progress::new()).unwrap();
    let bytes = make();
    let text = String::from_utf8_lossy(&bytes);
    for wanted in
        ["/Separation /Hip-berry#20red", "/Separation /Ink-bottle#20blue", "/Count 2", "/OP true", "/TrimBox"]
    {
        assert!(text.contains(wanted), "no {wanted}");
    }
    assert!(bytes == make());
    // Neither an exchange standard nor a press that the job is not printed on is claimed, and no layer hides anything.
    for claimed in ["OutputIntent", "GTS_PDFX", "pdfx", "OCProperties"] {
        assert!(!text.contains(claimed), "{claimed}");
    }
}

#[test]
fn each_channel_is_the_plate_inverted() {
    let (mut p, images) =
        job(SheetFormat::Custom(Size::mm(50.0, 40.0)), &["Hip-berry red", "Ink-bottle blue"], 0.0);
    p.sheet.layers[0].reading.density = Swing::new(0.6);
    p.sheet.layers[1].reading = Reading::of(Mode::Line);
    for form in PlateForm::ALL {
        channels_are_plates(&p, &images, &PlateOptions { form, ..PlateOptions::default() });
    }
}

fn channels_are_plates(p: &Printing, images: &Images, options: &PlateOptions) {
    let plates = Plates::new(p, images, options).unwrap();
    let of_face: Vec<&Plate> = plates.all.iter().collect();
    let packed = interleaved(&plates, &of_face, &Progress::new(), |_| {}).unwrap();
    let raw = miniz_oxide::inflate::decompress_to_vec_zlib(&packed).unwrap();
    let (w, h) = (plates.width as usize, plates.height as usize);
    let line = 2 * w;
    assert_eq!(raw.len(), (line + 1) * h);
    let mut rows: Vec<Vec<u8>> = vec![vec![0; line]];
    for filtered in raw.chunks(line + 1) {
        let above = rows.last().unwrap();
        rows.push(filtered[1..].iter().zip(above).map(|(d, a)| d.wrapping_add(*a)).collect());
    }
    for (k, plate) in plates.all.iter().enumerate() {
        let gray: Vec<u8> = plates.bands().flat_map(|(top, n)| plates.rows(plate, top, n)).collect();
        let ours: Vec<u8> =
            rows[1..].iter().flat_map(|r| r.iter().skip(k).step_by(2)).map(|v| 255 - v).collect();
        assert!(gray == ours, "channel {k}");
    }
}
