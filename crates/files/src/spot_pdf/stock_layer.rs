//! The stock's colour over a page: an optional-content group that viewers show and printing leaves out (ISO 32000-1,
//! 8.11), laid over the inks with the blend mode Multiply.
//!
//! It lies above the inks, not below them, so that the page without it is the bare separations, with nothing
//! transparent in it. A device colour or a separation would ask for a plate of its own; Lab asks for none.

use pdf_writer::types::{BlendMode, ColorSpaceOperand};
use pdf_writer::writers::{Catalog, Resources};
use pdf_writer::{Chunk, Content, Finish as _, Name, Ref, TextStr};
use slipsheet_core::colour::Lab;
use slipsheet_core::project::Project;

use super::Refs;
use super::alternates::lab_space;

pub(super) struct StockLayer {
    colour: Lab,
    group: Ref,
    space: Ref,
    /// The graphics state that it is laid over the inks with.
    pub state: Ref,
}

impl StockLayer {
    /// Writes what all pages share.
    pub fn write(pdf: &mut Chunk, refs: &mut Refs, project: &Project) -> Self {
        let (group, space, state) = (refs.next(), refs.next(), refs.next());
        lab_space(pdf, space);
        // No overprint: nothing of it goes onto a plate that is named otherwise.
        pdf.ext_graphics(state).overprint(false).overprint_fill(false).blend_mode(BlendMode::Multiply);
        let mut dict = pdf.indirect(group).dict();
        dict.pair(Name(b"Type"), Name(b"OCG"));
        dict.pair(Name(b"Name"), TextStr("Stock, on the screen only"));
        let mut usage = dict.insert(Name(b"Usage")).dict();
        for (event, key, state) in [
            (&b"View"[..], &b"ViewState"[..], &b"ON"[..]),
            (b"Print", b"PrintState", b"OFF"),
            (b"Export", b"ExportState", b"OFF"),
        ] {
            usage.insert(Name(event)).dict().pair(Name(key), Name(state));
        }
        usage.finish();
        dict.finish();
        Self { colour: project.stock.colour.lab(), group, space, state }
    }

    /// Names the group and the colour space in a page's resources.
    pub fn name_in(&self, resources: &mut Resources<'_>) {
        resources.insert(Name(b"Properties")).dict().pair(Name(b"Stock"), self.group);
        resources.color_spaces().pair(Name(b"Lab"), self.space);
    }

    /// Draws it over a page of this size in points.
    pub fn draw(&self, content: &mut Content, [w, h]: [f32; 2]) {
        let lab = [self.colour.l(), self.colour.a(), self.colour.b()].map(|v| v as f32);
        content.begin_marked_content_with_properties(Name(b"OC")).properties_named(Name(b"Stock"));
        content.save_state().set_parameters(Name(b"Tint"));
        content.set_fill_color_space(ColorSpaceOperand::Named(Name(b"Lab")));
        content.set_fill_color(lab).rect(0.0, 0.0, w, h).fill_nonzero();
        content.restore_state().end_marked_content();
    }

    /// Lists the group in the catalog, with when it is seen.
    pub fn list_in(&self, root: &mut Catalog<'_>) {
        let mut properties = root.insert(Name(b"OCProperties")).dict();
        properties.insert(Name(b"OCGs")).array().item(self.group);
        let mut first = properties.insert(Name(b"D")).dict();
        first.pair(Name(b"Name"), TextStr("As printed on the stock"));
        first.insert(Name(b"Order")).array().item(self.group);
        first.insert(Name(b"ON")).array().item(self.group);
        let mut switched = first.insert(Name(b"AS")).array();
        for event in [&b"View"[..], b"Print", b"Export"] {
            let mut one = switched.push().dict();
            one.pair(Name(b"Event"), Name(event));
            one.insert(Name(b"OCGs")).array().item(self.group);
            one.insert(Name(b"Category")).array().item(Name(event));
        }
    }
}
