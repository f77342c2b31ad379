//! The part of a scan that may print, and what a line-up stretched or slanted.

use egui::{RichText, Ui};
use slipsheet_core::units::Mm;
use slipsheet_document::edit::{ArtEdit, Edit};
use slipsheet_document::layer::{Art, Crop, CropMm, Placement, Shear, Stretch};

use super::fields::{gesture, ranged_field};
use crate::window::context::Context;
use crate::window::{UiCommand, theme};

/// The least a person can crop to, in mm.
const LEAST: f64 = 1.0;

/// Rows of the grid of a piece of artwork.
pub(super) fn crop_fields(ui: &mut Ui, cx: &Context<'_>, art: &Art, out: &mut Vec<UiCommand>) {
    let change = |edit| UiCommand::Request(Edit::Art(art.id, edit).into());
    let plain = Placement { stretch: Stretch::default(), shear: Shear::default(), ..art.placement };
    if plain != art.placement {
        ui.label("Affine");
        ui.horizontal(|ui| {
            let (stretch, shear) = (art.placement.stretch.get(), art.placement.shear.get());
            let text = format!("{:.3}, {:+.2}°", stretch, shear.atan().to_degrees());
            let label = ui.label(RichText::new(text).color(theme::of(ui).faint));
            label.on_hover_text("Stretch and slant, as the marks give them");
            if ui.small_button("Reset stretch").on_hover_text("Remove stretch and slant").clicked() {
                out.push(change(ArtEdit::Placement(plain)));
            }
        });
        ui.end_row();
    }
    let Some(pixels) = cx.session.images().get(&art.scan.key) else { return };
    let mm = |px: u32| f64::from(px) / art.scan.dpi.px_per_mm();
    let (w, h) = (mm(pixels.full().width()), mm(pixels.full().height()));
    let label = ui.label("Crop");
    let mut cropped = art.crop.is_some();
    let tick = ui.checkbox(&mut cropped, "print only a part").labelled_by(label.id);
    if tick.on_hover_text("What lies outside this part of the scan does not print").changed() {
        let all = Crop { width: CropMm::new(w), height: CropMm::new(h), ..Crop::default() };
        out.push(change(ArtEdit::Crop(cropped.then_some(all))));
    }
    ui.end_row();
    let Some(crop) = art.crop else { return };
    let unit = cx.session.settings().unit;
    let [mut x, mut y, mut width, mut height] =
        [crop.x, crop.y, crop.width, crop.height].map(|v| Mm::new(v.get()));
    let (least_w, least_h) = (LEAST.min(w), LEAST.min(h));
    for field in [
        ranged_field(ui, "From its left", &mut x, unit, 0.0..=(w - least_w)),
        ranged_field(ui, "From its top", &mut y, unit, 0.0..=(h - least_h)),
        ranged_field(ui, "Part, width", &mut width, unit, least_w..=w),
        ranged_field(ui, "Part, height", &mut height, unit, least_h..=h),
    ] {
        gesture(&field, "Crop artwork", out);
    }
    let [x, y, width, height] = [x, y, width, height].map(|v| CropMm::new(v.get()));
    let now = Crop { x, y, width, height };
    if now != crop {
        out.push(change(ArtEdit::Crop(Some(now))));
    }
}
