//! Machine, hypothesis and conditions in; phases of operation and predicted readings out.
