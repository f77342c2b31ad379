//! Passes: which layers print together. The stack of layers is the printing order; layers that follow one another on
//! a face and go with the same one ([`Layer::pass`]) share a pass.

use slipsheet_paper::fold::Face;

use crate::ids::LayerId;
use crate::layer::Layer;
use crate::printing::Printing;
use crate::sheet::Sheet;

/// The layers of a face by pass, in printing order, by their position; each pass holds as many as the press has drums
/// at most, so what would be one ink too many begins a pass of its own.
pub fn passes(printing: &Printing, face: Face) -> Vec<Vec<usize>> {
    let drums = usize::from(printing.press.drums);
    let mut passes: Vec<Vec<usize>> = Vec::new();
    let mut before = None;
    for (at, layer) in printing.sheet.on(face) {
        match passes.last_mut() {
            Some(pass) if before == Some(layer.pass()) && pass.len() < drums => pass.push(at),
            _ => passes.push(vec![at]),
        }
        before = Some(layer.pass());
    }
    passes
}

/// The same without layers that put no ink on the sheet, which are hidden or have no artwork there; a pass that has none
/// left is none.
pub fn printed_passes(printing: &Printing, face: Face) -> Vec<Vec<usize>> {
    let has_ink = |at: &usize| {
        let layer = printing.sheet.layers.get(*at);
        layer.is_some_and(|l| l.visible && !l.art.is_empty())
    };
    let printed = |pass: Vec<usize>| pass.into_iter().filter(has_ink).collect::<Vec<_>>();
    passes(printing, face).into_iter().map(printed).filter(|pass| !pass.is_empty()).collect()
}

impl Sheet {
    /// Passes of layers by their position as passes of the layers themselves.
    pub fn named(&self, passes: &[Vec<usize>]) -> Vec<Vec<LayerId>> {
        let id = |position: &usize| self.layers.get(*position).map(|l| l.id);
        passes.iter().map(|pass| pass.iter().filter_map(id).collect()).collect()
    }

    /// Planned passes with the layers of the face that no plan names, because they are hidden, each in a pass of its
    /// own after them.
    pub fn with_hidden(&self, face: Face, planned: &[Vec<LayerId>]) -> Vec<Vec<LayerId>> {
        let mut passes = planned.to_vec();
        let missing = self.on(face).map(|(_, l)| l.id).filter(|id| !planned.iter().any(|p| p.contains(id)));
        passes.extend(missing.map(|id| vec![id]));
        passes
    }

    /// Puts a face's layers in the order of a plan, those of a pass together; other faces stay where they are.
    ///
    /// What is planned must name every layer of the face once; otherwise nothing changes and `false` comes back.
    pub fn arrange(&mut self, face: Face, passes: &[Vec<LayerId>]) -> bool {
        let mut places: Vec<&mut Layer> = self.layers.iter_mut().filter(|l| l.face == face).collect();
        let old: Vec<Layer> = places.iter().map(|l| (**l).clone()).collect();
        let mut planned: Vec<LayerId> = passes.iter().flatten().copied().collect();
        let find = |id: &LayerId| old.iter().find(|l| l.id == *id);
        let order: Vec<&Layer> = planned.iter().filter_map(find).collect();
        planned.sort_unstable();
        planned.dedup();
        if planned.len() != old.len() || order.len() != old.len() {
            return false;
        }
        for (place, layer) in places.iter_mut().zip(order) {
            let first = passes.iter().find(|p| p.contains(&layer.id)).and_then(|p| p.first());
            **place = Layer { with: first.copied().filter(|id| *id != layer.id), ..layer.clone() };
        }
        true
    }

    /// Puts a layer last in the printing order. It joins the last pass of its face where that has room on a press of so
    /// many drums, so that a sheet starts with its inks two by two on two drums; passes before it stay as they are.
    pub fn put_last(&mut self, layer: Layer, drums: u8) {
        let mut on_face = self.layers.iter().rev().filter(|l| l.face == layer.face);
        let last = on_face.next().map(Layer::pass);
        // A longer run than the press has drums is several passes.
        let run = usize::from(last.is_some()) + on_face.take_while(|l| Some(l.pass()) == last).count();
        let has_room = !run.is_multiple_of(usize::from(drums.max(1)));
        self.layers.push(Layer { with: last.filter(|_| has_room), ..layer });
    }

    /// Names each pass by its first layer, so that layers which no longer follow one another share none: passes stay
    /// what they were when layers move, go or change sides, and none is joined that was not.
    pub(crate) fn settle_passes(&mut self) {
        for face in [Face::Front, Face::Back] {
            let mut run: Option<(LayerId, LayerId)> = None;
            for layer in self.layers.iter_mut().filter(|l| l.face == face) {
                let key = layer.pass();
                let first = run.filter(|(before, _)| *before == key).map(|(_, first)| first);
                layer.with = first;
                run = Some((key, first.unwrap_or(layer.id)));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::ArtId;
    use crate::layer::{Art, ScanKey, ScanRef, Target};
    use crate::shelf::Shelf;
    use slipsheet_core::units::{Dpi, SheetFormat};

    fn id(n: u32) -> LayerId {
        LayerId::new(n)
    }

    /// Layers of these numbers, each with the number of the layer that it goes with.
    fn printing(layers: &[(u32, u32)]) -> Printing {
        let shelf = Shelf::starter().unwrap();
        let mut p = Printing::new("p", SheetFormat::A4, shelf.stocks[0].clone());
        let layer = |&(n, with): &(u32, u32)| {
            let with = (with != n).then_some(id(with));
            Layer { with, ..Layer::new(id(n), format!("{n}"), shelf.inks[0].clone()) }
        };
        p.sheet.layers = layers.iter().map(layer).collect();
        p
    }

    #[test]
    fn a_pass_holds_no_more_inks_than_the_press_has_drums() {
        let mut p = printing(&[(0, 0), (1, 0), (2, 0), (3, 3)]);
        assert_eq!(passes(&p, Face::Front), [vec![0, 1], vec![2], vec![3]]);
        p.press.drums = 3;
        assert_eq!(passes(&p, Face::Front), [vec![0, 1, 2], vec![3]]);
        p.press.drums = 1;
        assert_eq!(passes(&p, Face::Front).len(), 4);
        assert!(passes(&p, Face::Back).is_empty());
    }

    #[test]
    fn what_is_hidden_or_empty_is_printed_in_no_pass() {
        let mut p = printing(&[(0, 0), (1, 0), (2, 2)]);
        assert!(printed_passes(&p, Face::Front).is_empty());
        let scan = ScanRef {
            path: "a.png".to_owned(),
            size: 1,
            key: ScanKey::new("a".repeat(64)),
            dpi: Dpi::default(),
        };
        for layer in &mut p.sheet.layers {
            layer.art = vec![Art::new(ArtId::new(0), scan.clone(), Target::Sheet)];
        }
        p.press.drums = 2;
        assert_eq!(printed_passes(&p, Face::Front), passes(&p, Face::Front));
        p.sheet.layers[0].visible = false;
        assert_eq!(printed_passes(&p, Face::Front), [vec![1], vec![2]]);
        p.sheet.layers[2].art.clear();
        assert_eq!(printed_passes(&p, Face::Front), [vec![1]]);
    }

    #[test]
    fn layers_put_last_pair_up_as_far_as_the_press_has_drums() {
        let shelf = Shelf::starter().unwrap();
        let put = |p: &mut Printing, n: u32, face: Face| {
            let layer = Layer { face, ..Layer::new(id(n), n.to_string(), shelf.inks[0].clone()) };
            let drums = p.press.drums;
            p.sheet.put_last(layer, drums);
            p.sheet.settle_passes();
        };
        let mut p = printing(&[]);
        for (n, face) in
            [(0, Face::Front), (1, Face::Back), (2, Face::Front), (3, Face::Front), (4, Face::Back)]
        {
            put(&mut p, n, face);
        }
        assert_eq!(passes(&p, Face::Front), [vec![0, 2], vec![3]]);
        assert_eq!(passes(&p, Face::Back), [vec![1, 4]]);
        // One drum has room for nothing more, and two drums find the layers as they were set.
        p.press.drums = 1;
        put(&mut p, 5, Face::Front);
        p.press.drums = 2;
        assert_eq!(passes(&p, Face::Front), [vec![0, 2], vec![3], vec![5]]);
        // What a person set stays: only the last pass is joined.
        put(&mut p, 6, Face::Front);
        assert_eq!(passes(&p, Face::Front), [vec![0, 2], vec![3], vec![5, 6]]);
        // Three that go together are two passes on two drums, and the last has room.
        let mut p = printing(&[(0, 0), (1, 0), (2, 0)]);
        put(&mut p, 3, Face::Front);
        assert_eq!(passes(&p, Face::Front), [vec![0, 1], vec![2, 3]]);
        put(&mut p, 4, Face::Front);
        assert_eq!(passes(&p, Face::Front), [vec![0, 1], vec![2, 3], vec![4]]);
    }

    #[test]
    fn a_plan_is_taken_whole_or_not_at_all() {
        let mut p = printing(&[(0, 0), (1, 0), (2, 2), (3, 3)]);
        let plan = [vec![id(2), id(0)], vec![id(3)], vec![id(1)]];
        assert!(p.sheet.arrange(Face::Front, &plan));
        let order: Vec<u32> = p.sheet.layers.iter().map(|l| l.id.number()).collect();
        assert_eq!(order, [2, 0, 3, 1]);
        assert_eq!(passes(&p, Face::Front), [vec![0, 1], vec![2], vec![3]]);
        let before = p.clone();
        for wrong in [
            vec![vec![id(0), id(1)], vec![id(1), id(3)]],
            vec![vec![id(0), id(1), id(2), id(3), id(4)]],
            vec![vec![id(0)]],
        ] {
            assert!(!p.sheet.arrange(Face::Front, &wrong));
            assert_eq!(p, before);
        }
        // A hidden layer is in no plan, and is not lost.
        let whole = p.sheet.with_hidden(Face::Front, &[vec![id(3), id(0)], vec![id(1)]]);
        assert_eq!(whole.last(), Some(&vec![id(2)]));
        assert!(p.sheet.arrange(Face::Front, &whole));
    }

    #[test]
    fn layers_that_come_apart_share_no_pass_any_more_and_the_rest_go_on_sharing_it() {
        // The first of three goes: the others go on together, by a name of their own.
        let mut p = printing(&[(1, 0), (2, 0)]);
        p.sheet.settle_passes();
        assert_eq!((p.sheet.layers[0].with, p.sheet.layers[1].with), (None, Some(id(1))));
        // Another layer comes between two, and goes again: they stay apart.
        let mut p = printing(&[(0, 0), (5, 5), (1, 0)]);
        p.sheet.settle_passes();
        p.sheet.layers.remove(1);
        p.sheet.settle_passes();
        assert_eq!(passes(&p, Face::Front), [vec![0], vec![1]]);
        // What changes sides goes with nothing there.
        let mut p = printing(&[(0, 0), (1, 0), (2, 0)]);
        p.sheet.layers[1].face = Face::Back;
        p.sheet.settle_passes();
        assert_eq!((p.sheet.layers[1].with, p.sheet.layers[2].with), (None, Some(id(0))));
    }
}
