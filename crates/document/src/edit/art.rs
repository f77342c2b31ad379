//! Edits of a piece of artwork.

use super::{ArtEdit, LinedUp, Made, Refusal, Step, Which, set};
use crate::ids::{ArtId, LayerId};
use crate::layer::{Art, Dust, Layer, PAGE_DPI, ScanKey};
use crate::project::Project;
use crate::sheet::Sheet;
use slipsheet_core::units::Dpi;

impl Project {
    pub(super) fn edit_art(&mut self, id: ArtId, edit: ArtEdit) -> Result<Step, Refusal> {
        let gone = Refusal::Gone(Which::Art);
        let found = self.sheets_mut().find_map(|s| s.holder_of(id).map(|holder| (s, holder)));
        let Some((sheet, holder)) = found else { return Err(gone) };
        if let ArtEdit::MoveTo(to) = edit {
            return sheet.move_art(id, holder, to);
        }
        let reads_otherwise = matches!(
            edit,
            ArtEdit::LinedUp(_)
                | ArtEdit::Regions(_)
                | ArtEdit::Rasterise(_)
                | ArtEdit::Gray(..)
                | ArtEdit::Mend(..)
                | ArtEdit::ScanPage(_)
        );
        if reads_otherwise && sheet.source_of(id).is_some() {
            return Err(Refusal::IsPlate);
        }
        let layer = sheet.layer_mut(holder)?;
        if edit == ArtEdit::Remove {
            layer.art.retain(|a| a.id != id);
            return Ok(Step::new("Remove artwork"));
        }
        let art = layer.art.iter_mut().find(|a| a.id == id).ok_or(gone)?;
        let label = match edit {
            ArtEdit::Placement(placement) => set(&mut art.placement, placement, "Place artwork"),
            ArtEdit::Crop(crop) => set(&mut art.crop, crop, "Crop artwork"),
            ArtEdit::LinedUp(lined_up) => {
                art.line_up(*lined_up);
                "Line up by marks"
            }
            ArtEdit::Regions(regions) => set(&mut art.regions, regions, "Read a part otherwise"),
            ArtEdit::Target(target) => set(&mut art.target, target, "Place artwork on a page"),
            ArtEdit::Dpi(dpi) => {
                let was = art.scan.dpi;
                art.crop = art.crop.map(|crop| crop.at_resolution(was, dpi));
                art.regions.iter_mut().for_each(|region| *region = region.at_resolution(was, dpi));
                art.scan.dpi = dpi;
                art.scan.key.dust = art.scan.key.dust.map(|dust| Dust { dpi, ..dust });
                "Set a resolution"
            }
            ArtEdit::Rasterise(dpi) => {
                let before = art.scan.key.resolution.map_or(PAGE_DPI, Dpi::get);
                // A resolution that the person gave besides scales the page: its share is kept.
                art.scan.dpi = Dpi::new(art.scan.dpi.get() * dpi.get() / before)?;
                art.scan.key.resolution = Some(dpi);
                // They are of pixels that are no more.
                art.scan.key = ScanKey { flat: None, area: None, mask: None, ..art.scan.key.clone() };
                "Read a page at another resolution"
            }
            ArtEdit::Gray(gray, clean) => {
                (art.scan.key.gray, art.scan.key.clean) = (gray, clean);
                "Change how a scan is read"
            }
            ArtEdit::Mend(dust, mask) => {
                let dpi = art.scan.dpi;
                (art.scan.key.dust, art.scan.key.mask) = (dust.map(|size| Dust { size, dpi }), mask);
                "Mend a scan"
            }
            ArtEdit::ScanPage(page) => {
                art.scan.key.page = page;
                // What was mended, made flat and read otherwise was another page.
                art.scan.key = ScanKey { flat: None, area: None, mask: None, ..art.scan.key.clone() };
                art.regions.clear();
                "Choose a page of a file"
            }
            ArtEdit::MoveTo(_) => "Move artwork to another layer",
            ArtEdit::Remove => "Remove artwork",
        };
        Ok(Step::new(label))
    }
}

impl Art {
    /// Takes over what its marks say.
    fn line_up(&mut self, lined_up: LinedUp) {
        let LinedUp { placement, crop, dpi, flat, area, mask, regions } = lined_up;
        self.scan.dpi = dpi;
        let key = &mut self.scan.key;
        (key.flat, key.area, key.mask) = (flat, area, mask);
        key.dust = key.dust.map(|dust| Dust { dpi, ..dust });
        (self.placement, self.crop, self.regions) = (placement, crop, regions);
    }
}

impl Sheet {
    pub fn holder_of(&self, art: ArtId) -> Option<LayerId> {
        self.layers.iter().find(|l| l.art.iter().any(|a| a.id == art)).map(|l| l.id)
    }

    fn layer_mut(&mut self, id: LayerId) -> Result<&mut Layer, Refusal> {
        self.layers.iter_mut().find(|l| l.id == id).ok_or(Refusal::Gone(Which::Layer))
    }

    fn move_art(&mut self, art: ArtId, from: LayerId, to: LayerId) -> Result<Step, Refusal> {
        self.layer_mut(to)?;
        let holder = self.layer_mut(from)?;
        let at = holder.art.iter().position(|a| a.id == art).ok_or(Refusal::Gone(Which::Art))?;
        let moved = holder.art.remove(at);
        self.layer_mut(to)?.art.push(moved);
        Ok(Step::making("Move artwork to another layer", Made::Art(to, art)))
    }
}
