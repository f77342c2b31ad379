use super::*;

/// A PNG of gray pixels from the repository.
fn picture(path: &str) -> GrayRaster {
    let file = std::fs::File::open(format!("{}/../../{path}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let mut reader = png::Decoder::new(std::io::BufReader::new(file)).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    GrayRaster::new(info.width, info.height, pixels).unwrap()
}

#[test]
fn look() {
    for (path, dpi) in [
        ("tests/data/lineup_page.png", 120.0), ("tests/data/lineup_text.png", 150.0),
        ("demo/tidewrack/tidewrack-ink.png", 300.0), ("demo/tidewrack/tidewrack-sea.png", 300.0), ("demo/tidewrack/tidewrack-weed.png", 300.0),
    ] {
        let p = picture(path);
        let t = std::time::Instant::now();
        let q = ScanQuality::of(&p, Dpi::new(dpi).unwrap());
        let e = t.elapsed();
        eprintln!("{path}: {:.1} ms, {:.1} ns/px {q:#?}", e.as_secs_f64()*1e3, e.as_secs_f64()*1e9 / p.pixels().len() as f64);
        let t = std::time::Instant::now();
        let d = crate::dust::find_dust(&p, Dpi::new(dpi).unwrap(), 0.5);
        let e = t.elapsed();
        eprintln!("dust {} {:.1} ns/px, first {:?}", d.len(), e.as_secs_f64()*1e9 / p.pixels().len() as f64, d.iter().take(6).collect::<Vec<_>>());
    }
}
