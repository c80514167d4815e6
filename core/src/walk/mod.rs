//! The tramline network and the shortest closed walk over it.
