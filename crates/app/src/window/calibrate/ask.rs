//! What the person says before a calibration is read: the inks in printing order, the stock, the sheet.

use std::path::PathBuf;
use std::sync::Arc;

use egui::{Button, ComboBox, Grid, RichText, Sense, Ui, vec2};
use slipsheet_core::cgats::{ColourFields, Measurements};
use slipsheet_core::colour::Lab;
use slipsheet_core::ink::Ink;
use slipsheet_core::overprint::MAX_INKS;
use slipsheet_core::stock::Stock;
use slipsheet_core::units::SheetFormat;
use slipsheet_document::printing::Printing;
use slipsheet_document::shelf::Shelf;
use slipsheet_editor::{
    CALIBRATING, CalibrationOffer, CalibrationOrder, CalibrationSource, Landing, Request, Session,
};

use slipsheet_files::file_name;

use crate::window::context::Context;
use crate::window::dialogs::Next;
use crate::window::{UiCommand, theme};

/// What is read.
enum What {
    Scan {
        sheet: SheetFormat,
        /// Where the scan would have become a layer.
        dropped: Option<Landing>,
    },
    Table(Arc<Measurements>),
}

/// A question that is being answered.
pub(crate) struct Form {
    path: PathBuf,
    what: What,
    /// For a scan, the inks in printing order; for a table, the ink of each column or none.
    inks: Vec<Option<Ink>>,
    stock: Stock,
    /// Why it could not be read.
    pub trouble: Option<String>,
}

/// Inks to choose from: the project's in printing order, then the shelf's.
fn inks(printing: &Printing, shelf: &Shelf) -> Vec<Ink> {
    let mut all: Vec<Ink> = Vec::new();
    for ink in printing.sheet.layers.iter().map(|l| &l.ink).chain(&shelf.inks) {
        if !all.iter().any(|i| i.name == ink.name) {
            all.push(ink.clone());
        }
    }
    all
}

impl Form {
    /// The question as it is likely to be answered.
    pub fn new(offer: CalibrationOffer, session: &Session) -> Self {
        let printing = session.printing();
        let known = inks(printing, session.shelf());
        let stock = printing.sheet.stock.clone();
        let own =
            known.iter().take_while(|i| printing.sheet.layers.iter().any(|l| l.ink.name == i.name)).count();
        match offer {
            CalibrationOffer::Scan { path, dropped } => {
                let sheet = dropped.map_or(printing.sheet.format, |(found, ..)| found.sheet);
                let count = dropped.map_or(own, |(found, ..)| found.inks).clamp(1, MAX_INKS);
                let inks = known.iter().take(count).cloned().map(Some).collect();
                let dropped = dropped.map(|(_, landing)| landing);
                Self { path, what: What::Scan { sheet, dropped }, inks, stock, trouble: None }
            }
            CalibrationOffer::Table { path, table } => {
                // A column that already bears an ink's name is that ink's.
                let named = |c: &String| known.iter().find(|i| i.name.eq_ignore_ascii_case(c)).cloned();
                let inks = table.channels.iter().map(named).collect();
                Self { path, what: What::Table(table), inks, stock, trouble: None }
            }
        }
    }

    /// What is to be read, or what is still missing.
    fn order(&self, session: &Session) -> Result<CalibrationOrder, &'static str> {
        let mut chosen: Vec<(usize, &Ink)> =
            self.inks.iter().enumerate().filter_map(|(c, i)| Some((c, i.as_ref()?))).collect();
        if chosen.is_empty() {
            return Err("Choose an ink for each column.");
        }
        if chosen.len() > MAX_INKS {
            return Err("At most 8 inks can be predicted together; leave the others out.");
        }
        if chosen.iter().enumerate().any(|(i, a)| chosen[..i].iter().any(|b| b.1.name == a.1.name)) {
            return Err("An ink is named twice; choose another for one of them.");
        }
        let source = match &self.what {
            What::Scan { sheet, .. } => CalibrationSource::Scan(self.path.clone(), *sheet),
            What::Table(table) => {
                // Columns do not say what was printed first; the project's layers do.
                let layers = &session.printing().sheet.layers;
                let printed =
                    |ink: &Ink| layers.iter().position(|l| l.ink.name == ink.name).unwrap_or(layers.len());
                chosen.sort_by_key(|(_, ink)| printed(ink));
                CalibrationSource::Table(Arc::clone(table), chosen.iter().map(|(c, _)| *c).collect())
            }
        };
        let inks = chosen.into_iter().map(|(_, i)| i.clone()).collect();
        let mut overprints = session.printing().overprints.clone();
        overprints.extend(session.shelf().overprints.iter().cloned());
        Ok(CalibrationOrder { source, inks, stock: self.stock.clone(), overprints })
    }

    /// The question.
    pub fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Next {
        ui.set_width(520.0);
        let session = cx.session;
        let reading = cx.desk.tasks.running().iter().any(|job| job.label == CALIBRATING);
        let known = inks(session.printing(), session.shelf());
        let name = file_name::last(&self.path);
        let p = theme::of(ui);
        match &self.what {
            What::Scan { dropped: Some(_), .. } => {
                ui.heading("Read this calibration sheet?");
                ui.label(format!("{name} looks like a printed calibration sheet, not like an original."));
            }
            What::Scan { dropped: None, .. } => {
                ui.heading("Read a calibration sheet");
                ui.label(format!("{name}: choose the inks in printing order."));
            }
            What::Table(table) => {
                ui.heading("Import measured data");
                let kind = match table.colours {
                    ColourFields::Lab => "Lab",
                    ColourFields::Xyz => "XYZ",
                    ColourFields::Spectra => "spectra",
                };
                ui.label(format!(
                    "{name}: {} patches, {kind}. Choose an ink for each column.",
                    table.patches.len()
                ));
            }
        }
        ui.add_space(theme::GAP);
        egui::ScrollArea::vertical().max_height(360.0).show(ui, |ui| {
            Grid::new("calibration question")
                .num_columns(3)
                .spacing([14.0, 7.0])
                .show(ui, |ui| rows_ui(ui, self, session, &known));
        });
        ui.add_space(theme::GAP);
        let colour = self.stock.colour.measured();
        let word = match (&self.what, colour) {
            (What::Scan { .. }, false) => {
                "Colours are taken relative to this stock, whose own colour is an estimate: measure it for better ones. Scan with colour and contrast correction off."
            }
            (What::Scan { .. }, true) => {
                "Colours are taken relative to this stock. Scan with colour and contrast correction off."
            }
            (What::Table(_), _) => {
                "Patches with an ink that is left out are skipped. Overprints are read in the printing order of the layers."
            }
        };
        ui.add(egui::Label::new(RichText::new(word).color(p.faint).small()).wrap());
        let order = self.order(session);
        if let Some(trouble) = self.trouble.as_deref().or(order.as_ref().err().copied()).filter(|_| !reading)
        {
            ui.add_space(theme::GAP);
            ui.add(egui::Label::new(RichText::new(trouble).color(p.error)).wrap());
        }
        ui.add_space(theme::GROUP_GAP);
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            let label = if reading { "Reading…" } else { "Read" };
            if ui.add_enabled(!reading && order.is_ok(), Button::new(label)).clicked()
                && let Ok(order) = order
            {
                self.trouble = None;
                out.push(Request::Calibrate(Box::new(order)).into());
            }
            if let What::Scan { dropped: Some(landing), .. } = &self.what
                && ui.button("Add it as a layer").clicked()
            {
                out.push(Request::AddAsLayers(vec![self.path.clone()], *landing).into());
                return Next::Close;
            }
            if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay }
        })
        .inner
    }
}

fn rows_ui(ui: &mut Ui, form: &mut Form, session: &Session, known: &[Ink]) {
    if let What::Scan { sheet, .. } = &mut form.what {
        let label = ui.label("Sheet");
        ui.label("");
        let combo = ComboBox::from_id_salt("calibration format").width(230.0).selected_text(sheet.name());
        let combo = combo.show_ui(ui, |ui| {
            for format in SheetFormat::NAMED {
                ui.selectable_value(sheet, format, format.name());
            }
        });
        combo.response.labelled_by(label.id);
        ui.end_row();
    }
    let label = ui.label("Stock");
    chip(ui, Some(form.stock.colour.lab()));
    let combo = ComboBox::from_id_salt("calibration stock").width(230.0).truncate();
    let combo = combo.selected_text(form.stock.name.as_str()).show_ui(ui, |ui| {
        let own = &session.printing().sheet.stock;
        let others = session.shelf().stocks.iter().filter(|s| s.name != own.name);
        for stock in std::iter::once(own).chain(others) {
            if ui.selectable_label(stock.name == form.stock.name, &stock.name).clicked() {
                form.stock = stock.clone();
            }
        }
    });
    combo.response.labelled_by(label.id);
    ui.end_row();
    let columns = if let What::Table(table) = &form.what { Some(Arc::clone(table)) } else { None };
    for k in 0..form.inks.len() {
        let text = columns.as_ref().map_or_else(|| format!("Ink {}", k + 1), |t| t.fields[k].clone());
        let label = ui.label(text);
        chip(ui, form.inks[k].as_ref().map(|i| i.solid.lab()));
        let shown = form.inks[k].as_ref().map_or_else(|| "left out".to_owned(), |i| i.name.clone());
        let combo =
            ComboBox::from_id_salt(("calibration ink", k)).width(230.0).truncate().selected_text(shown);
        let combo = combo.show_ui(ui, |ui| {
            if columns.is_some() && ui.selectable_label(form.inks[k].is_none(), "left out").clicked() {
                form.inks[k] = None;
            }
            for ink in known {
                let chosen = form.inks[k].as_ref().is_some_and(|i| i.name == ink.name);
                if ui.selectable_label(chosen, &ink.name).clicked() {
                    form.inks[k] = Some(ink.clone());
                }
            }
        });
        combo.response.labelled_by(label.id);
        ui.end_row();
    }
    if columns.is_none() {
        ui.label("");
        ui.label("");
        ui.horizontal(|ui| {
            let free = known.iter().find(|i| form.inks.iter().flatten().all(|f| f.name != i.name));
            let add = ui.add_enabled(form.inks.len() < MAX_INKS && free.is_some(), Button::new("Add ink"));
            if add.clicked() {
                form.inks.push(free.cloned());
            }
            if ui.add_enabled(form.inks.len() > 1, Button::new("Remove ink")).clicked() {
                form.inks.pop();
            }
        });
        ui.end_row();
    }
}

/// A patch of a colour.
pub(super) fn chip(ui: &mut Ui, lab: Option<Lab>) {
    let (rect, response) = ui.allocate_exact_size(vec2(26.0, 20.0), Sense::hover());
    let Some(lab) = lab else { return };
    let line = egui::Stroke::new(1.0, theme::of(ui).line);
    ui.painter().rect(rect, 2.0, theme::shown(lab), line, egui::StrokeKind::Inside);
    response.on_hover_text(lab.to_string());
}
