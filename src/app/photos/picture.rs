//! A picture from a camera, made small: turned upright, without place, time and name of the camera.

use crate::app::AppError;
use crate::store::photos::MOST_BYTES;
use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, ImageDecoder, ImageError, ImageReader, Limits};
use std::io::Cursor;
use std::sync::LazyLock;
use tokio::sync::Semaphore;

/// Longest side kept, and quality; the next is tried while the last was too large.
/// **Source** own values: stamps and link holes stay readable.
const STEPS: [(u32, u8); 5] = [(1600, 80), (1600, 65), (1280, 60), (1024, 50), (640, 40)];
/// Most memory a picture may take when it is unpacked: a camera's 50 million dots.
const MOST_UNPACKED: u64 = 200 * 1024 * 1024;
/// Pictures worked on at once: each takes a processor and memory.
static AT_ONCE: LazyLock<Semaphore> = LazyLock::new(|| Semaphore::new(2));

/// A JPEG of at most [`MOST_BYTES`].
#[derive(Debug, PartialEq, Eq)]
pub struct Picture(Vec<u8>);

impl Picture {
    /// The picture in a file from a camera. `pointer` names the file in the document it came in.
    ///
    /// # Errors
    /// [`AppError::Refused`] if it cannot be read as JPEG, PNG or WebP, or is too large to unpack.
    pub async fn read(file: Vec<u8>, pointer: &str) -> Result<Self, AppError> {
        let _turn = AT_ONCE
            .acquire()
            .await
            .map_err(|_| AppError::bug("nobody ends the turns"))?;
        tokio::task::spawn_blocking(move || shrink(&file))
            .await
            .map_err(|_| AppError::bug("a picture could not be worked on"))?
            .map(Self)
            .map_err(|why| AppError::refused(pointer, why))
    }

    /// Its bytes.
    pub fn jpeg(&self) -> &[u8] {
        &self.0
    }
}

fn shrink(file: &[u8]) -> Result<Vec<u8>, &'static str> {
    let image = upright(file).map_err(|_| "This is no picture of the forms JPEG, PNG or WebP.")?;
    STEPS
        .into_iter()
        .filter_map(|(side, quality)| encoded(&image, side, quality).ok())
        .find(|jpeg| jpeg.len() <= MOST_BYTES)
        .ok_or("This picture cannot be made small enough.")
}

fn upright(file: &[u8]) -> Result<DynamicImage, ImageError> {
    let mut reader = ImageReader::new(Cursor::new(file)).with_guessed_format()?;
    let mut limits = Limits::default();
    limits.max_alloc = Some(MOST_UNPACKED);
    reader.limits(limits);
    let mut decoder = reader.into_decoder()?;
    let orientation = decoder.orientation()?;
    let mut image = DynamicImage::from_decoder(decoder)?;
    image.apply_orientation(orientation);
    Ok(image)
}

fn encoded(image: &DynamicImage, side: u32, quality: u8) -> Result<Vec<u8>, ImageError> {
    let small = if image.width().max(image.height()) > side {
        image.thumbnail(side, side)
    } else {
        image.clone()
    };
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, quality).encode_image(&small.to_rgb8())?;
    Ok(jpeg)
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{ImageFormat, Rgb, RgbImage};

    /// Noise, which packs worst of all.
    fn noise(width: u32, height: u32) -> DynamicImage {
        let mut state = 1_u32;
        DynamicImage::ImageRgb8(RgbImage::from_fn(width, height, |_, _| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let [a, b, c, _] = state.to_be_bytes();
            Rgb([a, b, c])
        }))
    }

    fn as_file(image: &DynamicImage, format: ImageFormat) -> Vec<u8> {
        let mut file = Cursor::new(Vec::new());
        image.write_to(&mut file, format).unwrap();
        file.into_inner()
    }

    #[test]
    fn a_large_picture_is_made_small_and_keeps_its_form() {
        let jpeg = shrink(&as_file(&noise(2400, 1200), ImageFormat::Png)).unwrap();
        assert!(jpeg.len() <= MOST_BYTES, "{}", jpeg.len());
        let back = image::load_from_memory(&jpeg).unwrap();
        assert_eq!(back.width(), 2 * back.height());
    }

    /// Exif 2.32: orientation 6 says that the first row is at the right, and a tag of the camera's
    /// place has no business here.
    #[test]
    fn what_the_camera_wrote_is_gone_and_the_picture_stands_upright() {
        let mut file = as_file(&noise(40, 20), ImageFormat::Jpeg);
        let exif = b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0";
        let length = u16::try_from(exif.len() + 2).unwrap().to_be_bytes();
        let segment = [&[0xff, 0xe1], &length[..], exif].concat();
        file.splice(2..2, segment);
        let jpeg = shrink(&file).unwrap();
        assert!(!jpeg.windows(4).any(|bytes| bytes == b"Exif"));
        let back = image::load_from_memory(&jpeg).unwrap();
        assert_eq!((back.width(), back.height()), (20, 40));
    }

    #[test]
    fn what_is_no_picture_is_refused() {
        for bytes in [
            &b""[..],
            b"%PDF-1.7",
            b"\xff\xd8\xff\xe0 cut off",
            b"GIF89a",
        ] {
            assert!(shrink(bytes).unwrap_err().contains("no picture"));
        }
    }
}
