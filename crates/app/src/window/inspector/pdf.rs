//! How finely the page of a PDF is read.

use crate::window::number::drag;
use egui::Ui;
use slipsheet_core::units::Dpi;
use slipsheet_document::edit::ArtEdit;
use slipsheet_document::layer::{PAGE_DPI, ScanRef};

/// What may be asked for: below, a master shows pixels; above, nothing is gained on any press.
const RANGE: std::ops::RangeInclusive<f64> = 150.0..=1200.0;

/// Whether a scan is a page without pixels of its own.
pub(super) fn is_page(scan: &ScanRef) -> bool {
    let pdf = std::path::Path::new(&scan.path).extension().is_some_and(|e| e.eq_ignore_ascii_case("pdf"));
    pdf || scan.key.resolution.is_some()
}

/// The field; the page is read anew once the person has settled on a figure, not on the way there.
pub(super) fn resolution_ui(ui: &mut Ui, scan: &ScanRef) -> Option<ArtEdit> {
    let known = scan.key.resolution.map_or(PAGE_DPI, Dpi::get);
    let id = ui.scope_id().with("pdf resolution");
    let mut dpi = ui.data(|d| d.get_temp::<f64>(id)).unwrap_or(known);
    let label = ui.label("Read at");
    let field = drag(&mut dpi).range(RANGE).speed(2.0).suffix(" dpi").max_decimals(0);
    let field = ui.add(field.update_while_editing(false)).labelled_by(label.id);
    let field = field.on_hover_text("How finely the page of the PDF is turned into pixels; its size stays");
    ui.end_row();
    if field.dragged() {
        ui.data_mut(|d| d.insert_temp(id, dpi));
        return None;
    }
    ui.data_mut(|d| d.remove::<f64>(id));
    let dpi = Dpi::new(dpi.round()).ok()?;
    ((dpi.get() - known).abs() > 0.5).then_some(ArtEdit::Rasterise(dpi))
}
