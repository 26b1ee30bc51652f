// Package setup is the rule of the service's main job: from a rig and a grind to settings, and from settings to what they grind.
//
// A question names things or writes them out; resolve makes one rig of them. The grind becomes a chain of bevels, each with the
// wheel's tangent at its front end. A machine turns a tangent into a place of the support and back: pivots (bar, pocket, or just a
// distance) by the planar relation, tables by the line of a platform. Rounding happens here and once: discrete settings first,
// other free lengths next, then the support. What is predicted, said and drawn comes from the rounded numbers.
package setup
