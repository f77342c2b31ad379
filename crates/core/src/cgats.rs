//! Reads measured data: text after CGATS.17 and ISO 28178, whatever word it begins with.
//!
//! A table has keywords, the names of its fields between `BEGIN_DATA_FORMAT` and `END_DATA_FORMAT`, and rows
//! between `BEGIN_DATA` and `END_DATA`. Colours come as Lab, XYZ or spectra; coverages in per cent.

mod spectral;

use crate::colour::{Lab, Xyz};
use crate::words::count;

/// The most values that a table may have.
const MOST: usize = 2_000_000;

/// A table as it stands in the file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// Keywords and their values, in order.
    pub keywords: Vec<(String, String)>,
    pub fields: Vec<String>,
    /// Rows, each with as many values as there are fields.
    pub rows: Vec<Vec<String>>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredPatch {
    /// Name or number of the sample.
    pub name: String,
    /// Coverage asked for of each ink, 0..=1, in the order of the channels.
    pub cover: Vec<f64>,
    /// Colour under D50, 2 degree observer.
    pub lab: Lab,
}

/// Patches with the names of their channels.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurements {
    /// Names of the channels, such as `C`, `M`, `Y`, `K`.
    pub channels: Vec<String>,
    /// Names of the channels' fields as they stand in the file, such as `CMYK_C`.
    pub fields: Vec<String>,
    /// Patches, in the file's order.
    pub patches: Vec<MeasuredPatch>,
    pub colours: ColourFields,
}

impl Measurements {
    /// The channel of this name, as the file has it (`CMYK_C`) or without its family (`C`).
    pub fn channel(&self, name: &str) -> Option<usize> {
        let same = |n: &String| n.eq_ignore_ascii_case(name.trim());
        self.fields.iter().position(same).or_else(|| self.channels.iter().position(same))
    }

    /// The patches that are printed with these channels alone, their coverages in the order given.
    pub fn of(&self, channels: &[usize]) -> Vec<MeasuredPatch> {
        let alone = |p: &&MeasuredPatch| {
            p.cover.iter().enumerate().all(|(c, cover)| *cover <= 0.0 || channels.contains(&c))
        };
        let picked = |p: &MeasuredPatch| MeasuredPatch {
            name: p.name.clone(),
            cover: channels.iter().map(|c| p.cover.get(*c).copied().unwrap_or(0.0)).collect(),
            lab: p.lab,
        };
        self.patches.iter().filter(alone).map(picked).collect()
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColourFields {
    /// `LAB_L`, `LAB_A`, `LAB_B`.
    Lab,
    /// `XYZ_X`, `XYZ_Y`, `XYZ_Z`, the white's Y = 100.
    Xyz,
    /// Reflectances, summed over D50 and the 2 degree observer from 400 to 700 nm.
    Spectra,
}

/// Why a table cannot be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CgatsError {
    /// No `BEGIN_DATA_FORMAT` with names.
    #[error("there is no list of fields; give a text file that has BEGIN_DATA_FORMAT and BEGIN_DATA")]
    NoFields,
    /// No row between `BEGIN_DATA` and `END_DATA`.
    #[error("there are no measurements between BEGIN_DATA and END_DATA; export the file again")]
    NoRows,
    #[error("line {line} has {got} values for {wanted} fields; export the file again")]
    Uneven {
        /// Line, from 1.
        line: usize,
        got: usize,
        wanted: usize,
    },
    /// Rows are missing that the table says it has, or its end is.
    #[error("the table ends early, after {}; export the file again", count(*.0, "row"))]
    Early(usize),
    #[error("the file has more than {MOST} values; leave out what is not needed")]
    TooLong,
    #[error("there is no Lab, XYZ or spectrum from 400 to 700 nm among the fields; export one of them")]
    NoColour,
    #[error("no field says how much of each ink was asked for, such as CMYK_C; export them")]
    NoChannels,
    #[error("row {row}: {field} cannot be “{value}”; correct it or leave the row out")]
    Value {
        /// Row, from 1.
        row: usize,
        field: String,
        value: String,
    },
}

/// A value of the table, as far as it is worth showing.
fn shown(value: &str) -> String {
    if value.chars().count() <= 40 {
        value.to_owned()
    } else {
        value.chars().take(40).chain(['…']).collect()
    }
}

/// Words of a line, what stands in quotes as one; `#` outside quotes begins a comment.
fn words(line: &str) -> Vec<String> {
    let (mut all, mut word, mut quoted, mut started) = (Vec::new(), String::new(), false, false);
    for c in line.chars() {
        match c {
            '"' => (quoted, started) = (!quoted, true),
            '#' if !quoted => break,
            c if c.is_whitespace() && !quoted => {
                if started {
                    all.push(std::mem::take(&mut word));
                }
                started = false;
            }
            c => {
                word.push(c);
                started = true;
            }
        }
    }
    if started {
        all.push(word);
    }
    all
}

/// Where in the file a line stands.
#[derive(PartialEq)]
enum Part {
    Head,
    Fields,
    Rows,
    End,
}

impl Table {
    /// Reads the first table of a text; line ends of any system.
    pub fn parse(text: &str) -> Result<Self, CgatsError> {
        let (mut table, mut part, mut values) = (Self::default(), Part::Head, 0);
        let mut row: Vec<String> = Vec::new();
        let text = text.trim_start_matches('\u{feff}');
        let (mut last, two_ends) = (0, text.contains("\r\n"));
        for (i, line) in text.split(['\n', '\r']).enumerate() {
            // "\r\n" gives an empty piece between its two characters, which counts as no line.
            last = if two_ends { i / 2 + 1 } else { i + 1 };
            let found = words(line);
            let Some(first) = found.first() else { continue };
            match (&part, first.to_ascii_uppercase().as_str()) {
                (Part::Head, "BEGIN_DATA_FORMAT") => part = Part::Fields,
                (Part::Fields, "END_DATA_FORMAT") => part = Part::Head,
                (Part::Head, "BEGIN_DATA") if table.fields.is_empty() => return Err(CgatsError::NoFields),
                (Part::Head, "BEGIN_DATA") => part = Part::Rows,
                (Part::Rows, "END_DATA") => {
                    part = Part::End;
                    break;
                }
                (Part::Head, _) => {
                    table.keywords.push((first.clone(), found.get(1..).unwrap_or_default().join(" ")));
                }
                (Part::Fields, _) => table.fields.extend(found),
                (Part::End, _) => break,
                (Part::Rows, _) => {
                    // A row may run over several lines, but does not begin in the middle of one.
                    row.extend(found);
                    let (got, wanted) = (row.len(), table.fields.len());
                    if got > wanted {
                        return Err(CgatsError::Uneven { line: last, got, wanted });
                    }
                    if got == wanted {
                        table.rows.push(std::mem::take(&mut row));
                    }
                }
            }
            values += 1 + row.len() + table.fields.len();
            if values / 2 > MOST {
                return Err(CgatsError::TooLong);
            }
        }
        let promised = table.keyword("NUMBER_OF_SETS").and_then(|n| n.parse::<usize>().ok()).unwrap_or(0);
        let rows = table.rows.len();
        match (table.fields.len(), row.len(), rows) {
            (0, _, _) => Err(CgatsError::NoFields),
            // The end of a row may be lost with the rest.
            _ if part == Part::Rows => Err(CgatsError::Early(rows)),
            (wanted, got @ 1.., _) => Err(CgatsError::Uneven { line: last, got, wanted }),
            (_, _, 0) => Err(CgatsError::NoRows),
            _ if rows < promised => Err(CgatsError::Early(rows)),
            _ => Ok(table),
        }
    }

    pub fn keyword(&self, name: &str) -> Option<&str> {
        self.keywords.iter().find(|(k, _)| k.eq_ignore_ascii_case(name)).map(|(_, v)| v.as_str())
    }

    fn field(&self, name: &str) -> Option<usize> {
        self.fields.iter().position(|f| f.eq_ignore_ascii_case(name))
    }

    fn number(&self, row: usize, field: usize) -> Result<f64, CgatsError> {
        let value = self.rows.get(row).and_then(|r| r.get(field)).map_or("", String::as_str);
        // Some programs write decimal commas.
        let number = value.replace(',', ".").parse::<f64>().ok().filter(|v| v.is_finite());
        number.ok_or_else(|| self.refused(row, field))
    }

    fn refused(&self, row: usize, field: usize) -> CgatsError {
        CgatsError::Value {
            row: row + 1,
            field: self.fields.get(field).map(|f| shown(f)).unwrap_or_default(),
            value: self.rows.get(row).and_then(|r| r.get(field)).map(|v| shown(v)).unwrap_or_default(),
        }
    }

    /// Fields of coverages and the names of their channels: what stands after the last underscore.
    fn channels(&self) -> Vec<(usize, String)> {
        let named = self.keyword("COLOR_REP").and_then(|v| v.split('_').next()).unwrap_or_default();
        let inked = |prefix: &str| {
            let prefix = prefix.to_ascii_uppercase();
            let counted = prefix.strip_suffix("CLR").or_else(|| prefix.strip_prefix("PC"));
            prefix == "CMYK"
                || prefix == "CMY"
                || prefix.starts_with("CMYK")
                || counted.is_some_and(|n| !n.is_empty() && n.chars().all(|c| c.is_ascii_hexdigit()))
                || (!named.is_empty()
                    && prefix.eq_ignore_ascii_case(named)
                    && !matches!(prefix.as_str(), "RGB" | "IRGB" | "LAB" | "XYZ"))
        };
        let channel = |(i, f): (usize, &String)| {
            let (prefix, name) = f.rsplit_once('_')?;
            inked(prefix).then(|| (i, name.to_owned()))
        };
        self.fields.iter().enumerate().filter_map(channel).collect()
    }

    /// The patches that the rows are: Lab where there is Lab, else XYZ, else spectra.
    ///
    /// # Errors
    /// When there is no colour or no coverage, or a value is none.
    pub fn measurements(&self) -> Result<Measurements, CgatsError> {
        let channels = self.channels();
        if channels.is_empty() {
            return Err(CgatsError::NoChannels);
        }
        let (colours, lab) = self.colours()?;
        let name = ["SAMPLE_NAME", "SAMPLE_ID"].into_iter().find_map(|n| self.field(n));
        let patch = |row: usize| {
            let cover = channels
                .iter()
                .map(|(field, _)| {
                    let v = self.number(row, *field)?;
                    if (-0.001..=100.001).contains(&v) {
                        Ok((v / 100.0).clamp(0.0, 1.0))
                    } else {
                        Err(self.refused(row, *field))
                    }
                })
                .collect::<Result<_, CgatsError>>()?;
            let name = name.and_then(|n| self.rows.get(row)?.get(n)).cloned().unwrap_or_default();
            Ok(MeasuredPatch { name, cover, lab: lab(row)? })
        };
        let patches = (0..self.rows.len()).map(patch).collect::<Result<_, CgatsError>>()?;
        let fields = channels.iter().filter_map(|(field, _)| self.fields.get(*field).cloned()).collect();
        let channels = channels.into_iter().map(|c| c.1).collect();
        Ok(Measurements { channels, fields, patches, colours })
    }

    /// How the colour of a row is found.
    #[expect(clippy::type_complexity, reason = "one closure in one place")]
    fn colours(
        &self,
    ) -> Result<(ColourFields, Box<dyn Fn(usize) -> Result<Lab, CgatsError> + '_>), CgatsError> {
        let three = |names: [&str; 3]| {
            let [a, b, c] = names.map(|n| self.field(n));
            Some([a?, b?, c?])
        };
        let read = move |row: usize, [a, b, c]: [usize; 3]| {
            Ok::<_, CgatsError>([self.number(row, a)?, self.number(row, b)?, self.number(row, c)?])
        };
        if let Some(at) = three(["LAB_L", "LAB_A", "LAB_B"]) {
            let lab = move |row| {
                let [l, a, b] = read(row, at)?;
                // Black may be measured a trifle below nothing.
                Lab::new(if l > -0.5 { l.max(0.0) } else { l }, a, b).map_err(|e| match e.what {
                    "L" => self.refused(row, at[0]),
                    "a" => self.refused(row, at[1]),
                    _ => self.refused(row, at[2]),
                })
            };
            return Ok((ColourFields::Lab, Box::new(lab)));
        }
        if let Some(at) = three(["XYZ_X", "XYZ_Y", "XYZ_Z"]) {
            let lab = move |row| {
                let [x, y, z] = read(row, at)?;
                if [x, y, z].iter().any(|v| !(-0.5..=400.0).contains(v)) {
                    return Err(self.refused(row, at[1]));
                }
                Ok(Xyz { x: x / 100.0, y: y / 100.0, z: z / 100.0 }.lab())
            };
            return Ok((ColourFields::Xyz, Box::new(lab)));
        }
        let bands = spectral::Bands::of(self)?.ok_or(CgatsError::NoColour)?;
        Ok((ColourFields::Spectra, Box::new(move |row| bands.lab(self, row))))
    }
}

#[cfg(test)]
mod tests;
