//! What the map keeps from frame to frame: pictures, meshes, classes. All of it can be made again from what is drawn.

use super::backdrop::Backdrop;
use super::density::DensityPictures;
use super::detail::Details;
use super::painted::Painted;
use super::patterns::Patterns;
use awn_core::crs::PlaceNames;

/// What the map keeps.
#[derive(Default)]
pub struct Drawn {
    pub(super) pictures: DensityPictures,
    pub(super) patterns: Patterns,
    pub(super) details: Details,
    pub(super) painted: Painted,
    pub(super) names: PlaceNames,
    pub(super) backdrop: Backdrop,
    /// Numbers of the shapes in view.
    pub(super) in_view: Vec<usize>,
}
