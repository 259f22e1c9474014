//! Whether a picture shows what a stored one shows.
//!
//! Two drivers, and one driver on two processors, differ where nobody sees it: see-through sheets are rounded by a step
//! or two of 255, and the edge of a line covers a little more of a pixel or a little less. A mean of differences cannot
//! tell that from a missing line, since a sheet is large and a line is thin. So pictures are compared by what is in them:
//! each pixel of either has to find its colour in the other, at its own place or between colours beside it. A line, a
//! letter or a mark that only one of them has finds nothing there, however thin it is, and a sheet that is a step or two
//! lighter finds itself.

use image::{Rgb, RgbImage};
use std::{fs, path::Path};

/// Steps of 255 by which a colour may be off: two for a sheet that rounds differently, twice, since of two sheets one
/// behind the other both do.
const ROUNDING: u8 = 4;

/// The most pixels that hang together, side by side or corner to corner, and may find nothing in the other picture: where
/// sharp corners meet, their colours lie two pixels away.
const SPECK: usize = 2;

/// The most pixels of a whole picture that may find nothing in the other, as a share.
const SPECKS: f64 = 0.0001;

/// What one of two pictures of the same size shows and the other does not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Unlike {
    /// The share of pixels that find their colour nowhere near in the other picture.
    pub(crate) share: f64,
    /// The most of them that hang together.
    pub(crate) largest: usize,
    /// The first of those that hang together, from the left and from the top.
    pub(crate) at: [u32; 2],
}

impl Unlike {
    /// Whether nobody would see it.
    pub(crate) fn is_nothing(&self) -> bool {
        self.largest <= SPECK && self.share <= SPECKS
    }
}

/// Compares two pictures of one size; no pixels, nothing unlike.
pub(crate) fn unlike(one: &RgbImage, other: &RgbImage) -> Unlike {
    assert_eq!(one.dimensions(), other.dimensions());
    let [width, height] = [one.width(), one.height()];
    let places = || (0..height).flat_map(|y| (0..width).map(move |x| [x, y]));
    let mut lost: Vec<bool> = places().map(|at| !finds(one, other, at) || !finds(other, one, at)).collect();
    let count = lost.iter().filter(|lost| **lost).count();
    let mut found = Unlike { share: count as f64 / f64::from(width * height).max(1.0), largest: 0, at: [0; 2] };
    let index = |[x, y]: [u32; 2]| (y * width + x) as usize;
    for first in places() {
        let mut together = 0;
        let mut next = vec![first];
        while let Some(at) = next.pop() {
            if std::mem::take(&mut lost[index(at)]) {
                together += 1;
                next.extend(around(at, [width, height]));
            }
        }
        if together > found.largest {
            (found.largest, found.at) = (together, first);
        }
    }
    found
}

/// Whether a pixel of one picture finds its colour in the other, between those at its place and beside it.
fn finds(one: &RgbImage, other: &RgbImage, at: [u32; 2]) -> bool {
    let mut range = [[u8::MAX, u8::MIN]; 3];
    for [x, y] in around(at, [other.width(), other.height()]) {
        for (range, value) in range.iter_mut().zip(other.get_pixel(x, y).0) {
            *range = [range[0].min(value), range[1].max(value)];
        }
    }
    let Rgb(color) = one.get_pixel(at[0], at[1]);
    (range.iter().zip(color))
        .all(|([low, high], value)| (low.saturating_sub(ROUNDING)..=high.saturating_add(ROUNDING)).contains(value))
}

/// A place of a picture and those beside it.
fn around([x, y]: [u32; 2], [width, height]: [u32; 2]) -> impl Iterator<Item = [u32; 2]> {
    let [columns, rows] = [(x, width), (y, height)].map(|(at, end)| at.saturating_sub(1)..(at + 2).min(end));
    rows.flat_map(move |y| columns.clone().map(move |x| [x, y]))
}

/// The stored pictures, by their names.
fn stored() -> Vec<(String, RgbImage)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/pictures");
    let paths = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let pictures: Vec<_> = (paths.filter(|path| path.extension() == Some("png".as_ref())))
        .map(|path| (path.display().to_string(), image::open(&path).unwrap().to_rgb8()))
        .collect();
    assert!(pictures.len() >= 16, "{}", pictures.len());
    pictures
}

/// Every sheet two steps lighter, darker, or the one and the other in neighbours, is the same picture: a driver may round
/// so. Sheets of another colour are not.
#[test]
fn sheets_may_be_two_steps_off() {
    for (name, picture) in stored() {
        // Everything but the ground, which is more than what is see-through.
        let ground = *picture.get_pixel(0, 0);
        let shifted = |by: &dyn Fn(Rgb<u8>) -> [i8; 3]| {
            let mut other = picture.clone();
            for pixel in other.pixels_mut().filter(|pixel| **pixel != ground) {
                let by = by(*pixel);
                for (value, by) in pixel.0.iter_mut().zip(by) {
                    *value = value.saturating_add_signed(by);
                }
            }
            other
        };
        let either =
            |Rgb([red, green, blue]): Rgb<u8>| [red, green, blue].map(|value| if value % 2 == 0 { 2 } else { -2 });
        let sames: [&dyn Fn(Rgb<u8>) -> [i8; 3]; 4] = [&|_| [2; 3], &|_| [-2; 3], &|_| [2, 0, -2], &either];
        for by in sames {
            let unlike = unlike(&picture, &shifted(by));
            assert!(unlike.is_nothing(), "{name}: {unlike:?}");
        }
        let unlike = unlike(&picture, &shifted(&|_| [8; 3]));
        assert!(!unlike.is_nothing(), "{name}, another colour went unnoticed: {unlike:?}");
    }
}

/// A line one pixel wide and 24 long, half seen through, is missed wherever it is drawn, unless it runs along another of
/// its shade and only makes that one wider, as one in a hundred may.
#[test]
fn a_hair_line_fewer_is_seen() {
    const LENGTH: u32 = 24;
    let (mut count, mut unseen) = (0, Vec::new());
    for (name, picture) in stored() {
        let [width, height] = [picture.width(), picture.height()];
        for (step, direction) in [[1, 0], [0, 1], [1, 1], [1, -1]].into_iter().enumerate() {
            for from in (0..12).map(|at| [at % 4, at / 4]) {
                let from = [from[0] * (width - LENGTH) / 4, LENGTH + from[1] * (height - 2 * LENGTH) / 3];
                let along = (0..LENGTH).map(|by| {
                    let [x, y] = [0, 1].map(|axis| from[axis].saturating_add_signed(direction[axis] * by as i32));
                    [x, y + step as u32]
                });
                let along: Vec<[u32; 2]> = along.collect();
                let bright = |[x, y]: &[u32; 2]| picture.get_pixel(*x, *y).0.map(u32::from).iter().sum::<u32>();
                let ink = if along.iter().map(bright).sum::<u32>() > LENGTH * 3 * 128 { 0 } else { 255 };
                let mut other = picture.clone();
                for [x, y] in along {
                    let pixel = other.get_pixel_mut(x, y);
                    pixel.0 = pixel.0.map(|value| value / 2 + ink / 2);
                }
                if unlike(&picture, &other).is_nothing() {
                    unseen.push(format!("{name}, from {from:?} along {direction:?}"));
                }
                count += 1;
            }
        }
    }
    assert!(count > 700 && unseen.len() * 100 <= count, "{} of {count}: {unseen:#?}", unseen.len());
}

/// An edge that falls a part of a pixel to this side or that is the same edge.
#[test]
fn edges_may_cover_pixels_otherwise() {
    let edge = |ink: u8| {
        RgbImage::from_fn(40, 30, |x, _| {
            Rgb([if x < 20 {
                240
            } else if x == 20 {
                ink
            } else {
                30
            }; 3])
        })
    };
    assert!(unlike(&edge(80), &edge(200)).is_nothing());
    let line = |ink: [u8; 2]| {
        RgbImage::from_fn(40, 30, |x, _| Rgb([if (20..22).contains(&x) { ink[x as usize - 20] } else { 240 }; 3]))
    };
    assert!(unlike(&line([60, 200]), &line([60, 170])).is_nothing());
    let none = unlike(&line([60, 200]), &line([240; 2]));
    assert_eq!((none.largest, none.at), (60, [20, 0]));
}
