//! Ink where the press prints nothing.

use super::*;

#[test]
fn ink_where_the_press_cannot_print_is_found_with_its_place() {
    let margins = Press::default().margins;
    let found = check(|p| p.press.margins = margins, &[Kind::InMargin]);
    let place = found[0].place.unwrap();
    let message = found[0].sentence.as_str();
    assert!(message.contains("mm² in the 5.0 mm at the lead edge, "), "{message}");
    assert!(["tail edge", "left edge and ", "right edge"].iter().all(|e| message.contains(e)), "{message}");
    assert_eq!((place.face, place.rect.y, place.rect.height), (Face::Front, 0.0, 5.0));
    // Trimmed off it is no matter; trimmed too little it leaves a white edge.
    check(
        |p| {
            p.press.margins = margins;
            p.sheet.trim = Mm::new(5.0);
        },
        &[],
    );
    let found = check(
        |p| {
            p.press.margins = margins;
            p.sheet.trim = Mm::new(3.0);
        },
        &[Kind::BleedLost],
    );
    let message = &found[0].sentence;
    assert!(message.contains("2.0 mm stay white at the lead edge, "), "{message}");
    assert!(message.ends_with("at the right edge after trimming"), "{message}");
}

#[test]
fn margins_are_one_finding_a_layer_and_face_at_the_edge_with_the_most_ink() {
    let (mut p, mut images) = sound();
    p.press.margins = Press::default().margins;
    // Ink at the left edge alone, and a small block at the right one.
    let gray = |x: u32, y: u32| {
        if x < 20 || (x >= 1620 && (600..640).contains(&y)) { 60 } else { 255 }
    };
    let pixels = (0..1650_u32 * 1275).map(|i| gray(i % 1650, i / 1650)).collect();
    let raster = GrayRaster::new(1650, 1275, pixels).unwrap();
    images.insert(key("sides"), Arc::new(Pyramid::new(raster, Dpi::new(150.0).unwrap())));
    let clear = p.press.margins;
    let none = slipsheet_core::press::MarginMm::new(0.0);
    p.press.margins = slipsheet_core::press::Margins { lead: none, tail: none, ..clear };
    p.sheet.layers[0].art = vec![art("sides", Target::Sheet)];
    p.sheet.layers.push(Layer { face: Face::Back, ..another(&p) });

    let found = findings(&p, &images, &[]);
    let found: Vec<&Finding> = found.iter().filter(|f| f.kind == Kind::InMargin).collect();
    let faces: Vec<Face> = found.iter().map(|f| f.place.unwrap().face).collect();
    assert_eq!(faces, [Face::Front, Face::Back], "{found:#?}");
    for finding in found {
        let (message, rect) = (&finding.sentence, finding.place.unwrap().rect);
        assert!(message.contains("at the left edge and ") && message.ends_with("right edge"), "{message}");
        assert!(rect.x == 0.0 && rect.height > 200.0, "{rect:?}");
    }
}
