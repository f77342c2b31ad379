//! Pages of a PDF that this program made, as small pictures for the screen.

use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_interpret::util::TransformExt as _;
use hayro::hayro_syntax::Pdf;
use hayro::hayro_syntax::page::Page;
use hayro::kurbo::Affine;
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::vello_cpu::{Pixmap, RasterizerSettings, RenderContext, Resources, TargetInit};
use hayro::{RenderCache, RenderSettings, render_into};
use slipsheet_render::Picture;

/// Every page, its longer side this many pixels; none where the PDF cannot be read.
pub fn pictures(pdf: Vec<u8>, side: u16) -> Vec<Picture> {
    let Ok(pdf) = Pdf::new(pdf) else { return Vec::new() };
    pdf.pages().iter().map(|page| picture(page, side)).collect()
}

fn picture(page: &Page<'_>, side: u16) -> Picture {
    let (wide, high) = page.render_dimensions();
    let scale = f64::from(side) / f64::from(wide.max(high).max(1.0));
    let px = |points: f32| (f64::from(points) * scale).round().clamp(1.0, f64::from(side)) as u16;
    let (width, height) = (px(wide), px(high));
    let (cache, interpreter) = (RenderCache::new(), InterpreterSettings::default());
    let mut context = RenderContext::new(width, height);
    let px_from_points = Affine::scale(scale) * page.initial_transform(true).to_kurbo();
    render_into(page, &cache, &interpreter, &RenderSettings::default(), &mut context, px_from_points);
    context.flush();
    let mut drawn = Pixmap::new(width, height);
    let onto_white =
        RasterizerSettings { target_init: TargetInit::Clear(WHITE), ..RasterizerSettings::default() };
    context.render_with(&mut drawn, &mut Resources::default(), onto_white);
    let pixels = drawn.data_as_u8_slice().as_chunks::<4>().0.to_vec();
    Picture { width: width.into(), height: height.into(), pixels }
}

#[cfg(test)]
mod tests {
    use slipsheet_core::units::Size;

    use super::pictures;
    use crate::lettering::Style;
    use crate::typeset::{DARK, Document};

    #[test]
    fn a_page_becomes_a_picture_of_its_shape_with_its_words() {
        let mut d = Document::new(Size::mm(100.0, 50.0)).unwrap();
        d.add_page();
        d.line((10.0, 20.0), 80.0, "Ticket", Style::semi_bold(40.0, DARK));
        d.add_page();
        let pages = pictures(d.finish("two pages").unwrap(), 400);
        assert_eq!(pages.iter().map(|p| (p.width, p.height)).collect::<Vec<_>>(), [(400, 200); 2]);
        let dark = |i: usize| pages[i].pixels.iter().filter(|p| p[0] < 100).count();
        assert!(dark(0) > 500 && dark(1) == 0, "{} {}", dark(0), dark(1));
        assert!(pictures(b"no PDF".to_vec(), 400).is_empty());
    }
}
