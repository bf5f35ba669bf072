#pragma once
// HACK: mend later
