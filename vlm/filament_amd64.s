#include "go_asm.h"
#include "textflag.h"

// The loops of filament.go with both sides of the plane of symmetry in one register:
// the low lane is the side itself, the high lane its reflection. Where the Go has x
// and xm, one instruction here does both; what is the same for both stands in both
// lanes. The sides are added up last, where the Go adds some sooner, so that results
// may differ in their last bits. Comments name quantities as the Go does.
//
// SSE2 as every amd64 has it wants its operands in memory on multiples of 16, which
// Go's slices do not promise: hence MOVUPD for all that is not laid out here.

#define PAIR(name, own, reflected) \
	DATA name<>+0(SB)/8, own      \
	DATA name<>+8(SB)/8, reflected \
	GLOBL name<>(SB), RODATA|NOPTR, $16

PAIR(one, $1.0, $1.0)

// Sign bits to change: of the side itself, and of its reflection.
PAIR(negateOwn, $0x8000000000000000, $0)
PAIR(negateReflected, $0, $0x8000000000000000)

// As in filament.go, whose constants the assembler is not told unless they are whole.
PAIR(nodeGuard, $1e-200, $1e-200)
PAIR(onAxis, $1e-12, $1e-12)
PAIR(axisGuard, $1e-24, $1e-24)

// BOTH loads a number into both lanes.
#define BOTH(from, to) \
	MOVSD    from, to \
	UNPCKLPD to, to

// func nodeOffsets(row *nodeOffset, nx, ny, nz *float64, n int, x, y, z, ym float64)
//
//	DI to    R8, R9, R10 nx, ny, nz    X0 x, z     X2 nodeGuard
//	AX j     CX n                      X1 y, ym    X3 one
TEXT ·nodeOffsets(SB), NOSPLIT, $0-72
	MOVQ   row+0(FP), DI
	MOVQ   nx+8(FP), R8
	MOVQ   ny+16(FP), R9
	MOVQ   nz+24(FP), R10
	MOVQ   n+32(FP), CX
	MOVSD  x+40(FP), X0
	MOVHPD z+56(FP), X0
	MOVSD  y+48(FP), X1
	MOVHPD ym+64(FP), X1
	MOVAPD nodeGuard<>(SB), X2
	MOVAPD one<>(SB), X3
	XORL   AX, AX

node:
	MOVSD  (R8)(AX*8), X5
	MOVHPD (R10)(AX*8), X5
	MOVAPD X0, X4
	SUBPD  X5, X4            // dx, dz: here they are a pair
	MOVUPD X4, nodeOffset_x(DI)
	MULPD  X4, X4
	MOVAPD X4, X5
	SHUFPD $1, X5, X5
	ADDPD  X5, X4
	ADDPD  X2, X4            // flat
	BOTH((R9)(AX*8), X5)
	MOVAPD X1, X6
	SUBPD  X5, X6            // dy, dm
	MOVUPD X6, nodeOffset_y(DI)
	MULPD  X6, X6
	ADDPD  X4, X6
	SQRTPD X6, X6            // d, m
	MOVUPD X6, nodeOffset_r(DI)
	MOVAPD X3, X5
	DIVPD  X6, X5            // two divisions in the time of one
	MOVUPD X5, nodeOffset_inv(DI)
	ADDQ   $nodeOffset__size, DI
	INCQ   AX
	CMPQ   AX, CX
	JLT    node
	RET

// SEGMENT finds what F and its gradient are made of for the filament from the node at
// SI to that at DI:
//
//	X0 f    X4 (kk - p.inv)*p.inv    X3 (kk - q.inv)*q.inv    X1, X2 free
//
// 1/S has a division of its own: the products that would save it take longer. On the
// filament S/s is made 0, which is what `onFilament` comes to.
#define SEGMENT \
	MOVUPD nodeOffset_x(SI), X0   \
	MOVUPD nodeOffset_x(DI), X1   \
	MULPD  X1, X0           \
	MOVAPD X0, X1           \
	SHUFPD $1, X1, X1       \
	ADDPD  X1, X0           \ /* flat */
	MOVUPD nodeOffset_y(SI), X1   \
	MOVUPD nodeOffset_y(DI), X3   \
	MULPD  X3, X1           \
	MOVUPD nodeOffset_r(SI), X2   \
	MOVUPD nodeOffset_r(DI), X3   \
	MOVAPD X2, X4           \
	MULPD  X3, X4           \ /* ab */
	ADDPD  X3, X2           \ /* S */
	ADDPD  X4, X0           \
	ADDPD  X1, X0           \ /* s */
	MULPD  onAxis<>(SB), X4 \
	MOVAPD one<>(SB), X3    \
	DIVPD  X2, X3           \ /* 1/S */
	DIVPD  X0, X2           \ /* S/s */
	CMPPD  X4, X0, $2       \ /* s <= onAxis*ab */
	ANDNPD X2, X0           \
	SUBPD  X0, X3           \ /* kk */
	MOVUPD nodeOffset_inv(SI), X1 \
	MOVUPD nodeOffset_inv(DI), X2 \
	MOVAPD X1, X4           \
	MULPD  X2, X4           \
	MULPD  X4, X0           \ /* f */
	MOVAPD X3, X4           \
	SUBPD  X1, X4           \
	MULPD  X1, X4           \
	SUBPD  X2, X3           \
	MULPD  X2, X3

// What aicSegments keeps on its stack for the whole row. In the reflection ny changes sign, and
// with it what is made of it: N, UX and UZ.
#define NX 0(BX)
#define N 16(BX)
#define NZ 32(BX)
#define TX 48(BX)
#define TZ 64(BX)
#define UX 80(BX)
#define UY 96(BX)
#define UZ 112(BX)

// func aicSegments(k *aicKernel, v *vec, from, to *nodeOffset, n int)
//
//	SI, DI p, q    BX the row's own    X5, X6 p.x, p.z    X9, X10 p.y, q.y
//	DX o           CX n - j            X7, X8 q.x, q.z    X12, X13, X14 for o.z, o.y, o.x
TEXT ·aicSegments(SB), NOSPLIT, $144-40
	MOVQ k+0(FP), AX
	MOVQ v+8(FP), DX
	MOVQ from+16(FP), SI
	MOVQ to+24(FP), DI
	MOVQ n+32(FP), CX
	MOVQ SP, BX
	ADDQ $15, BX
	ANDQ $~15, BX

	BOTH(aicKernel_nx(AX), X0)
	BOTH(aicKernel_ny(AX), X1)
	BOTH(aicKernel_nz(AX), X2)
	BOTH(aicKernel_tx(AX), X3)
	BOTH(aicKernel_tz(AX), X4)
	XORPD  negateReflected<>(SB), X1
	MOVAPD X0, NX
	MOVAPD X1, N
	MOVAPD X2, NZ
	MOVAPD X3, TX
	MOVAPD X4, TZ
	MULPD  X3, X2
	MULPD  X4, X0
	SUBPD  X0, X2
	MOVAPD X2, UY                 // nz*tx - nx*tz
	MULPD  X1, X4
	MOVAPD X4, UX                 // ny*tz
	MULPD  X1, X3
	XORPD  X0, X0
	SUBPD  X3, X0
	MOVAPD X0, UZ                 // -ny*tx

segment:
	SEGMENT
	BOTH(nodeOffset_x(SI), X5)
	BOTH(nodeOffset_z(SI), X6)
	BOTH(nodeOffset_x(DI), X7)
	BOTH(nodeOffset_z(DI), X8)
	MOVUPD nodeOffset_y(SI), X9
	MOVUPD nodeOffset_y(DI), X10

	// c
	MOVAPD X9, X11
	MULPD  X8, X11
	MOVAPD X6, X2
	MULPD  X10, X2
	SUBPD  X2, X11                // cx
	MOVAPD X5, X12
	MULPD  X10, X12
	MOVAPD X9, X2
	MULPD  X7, X2
	SUBPD  X2, X12                // cz
	MOVAPD X6, X13
	MULPD  X7, X13
	MOVAPD X5, X2
	MULPD  X8, X2
	SUBPD  X2, X13
	MULPD  N, X13                 // across

	// w, and what turning n adds
	MOVAPD X11, X14
	MULPD  NX, X14
	MOVAPD X12, X2
	MULPD  NZ, X2
	ADDPD  X2, X14
	ADDPD  X13, X14
	MULPD  X0, X14                // w
	MULPD  NX, X12
	MULPD  NZ, X11
	SUBPD  X11, X12
	ADDPD  X12, X12               // 2*(nx*cz - nz*cx)

	// by way of c
	SUBPD  X9, X10                // dy; as ym changes with its node, the same for both
	MOVAPD X7, X9
	SUBPD  X5, X9                 // dx
	MOVAPD X8, X11
	SUBPD  X6, X11                // dz
	MOVAPD X9, X13
	MULPD  N, X13
	MULPD  UX, X9
	ADDPD  X9, X12
	MULPD  UZ, X11
	ADDPD  X11, X12
	MOVAPD X10, X2
	MULPD  NX, X2
	SUBPD  X2, X13
	MULPD  X0, X13                // f*(dx*ny - dy*nx)
	MULPD  UY, X10
	ADDPD  X10, X12
	MULPD  X0, X12                // f*(2*(nx*cz - nz*cx) + dx*ux + dz*uz + dy*uy)

	// by way of F
	MULPD X14, X4                 // a
	MULPD X14, X3                 // b
	MULPD X4, X6
	MULPD X3, X8
	ADDPD X8, X6                  // gz
	MULPD X4, X5
	MULPD X3, X7
	ADDPD X7, X5                  // p.x*a + q.x*b
	ADDPD X6, X13
	MULPD TZ, X6
	ADDPD X6, X12
	MULPD TX, X5
	ADDPD X5, X12

	// the two sides together
	MOVAPD   X14, X2
	UNPCKLPD X13, X2
	UNPCKHPD X13, X14
	ADDPD    X14, X2
	MOVUPD   X2, vec_x(DX)        // and y
	MOVAPD   X12, X2
	UNPCKHPD X2, X2
	ADDSD    X12, X2
	MOVSD    X2, vec_z(DX)

	ADDQ $nodeOffset__size, SI
	ADDQ $nodeOffset__size, DI
	ADDQ $vec__size, DX
	DECQ CX
	JNZ  segment
	RET

// func gradientSegments(k *gradientKernel, v *vec, gamma *float64, from, to *nodeOffset, n int)
//
//	SI, DI p, q    CX n - j    X5, X8 p.x, p.z    X7, X4 d by x, by z
//	DX o           R8 its g    X6, X2 q.x, q.z    X3 b
//
// and the row's sums, both sides apart but where y changes the sign of the reflected one:
//
//	X9, X10 gx.x, gx.z     X13 gx.y and gz.y    X15 arm.y
//	X11, X12 gz.x, gz.z    X14 arm.x and arm.z
TEXT ·gradientSegments(SB), NOSPLIT, $0-48
	MOVQ  k+0(FP), AX
	MOVQ  v+8(FP), DX
	MOVQ  gamma+16(FP), R8
	MOVQ  from+24(FP), SI
	MOVQ  to+32(FP), DI
	MOVQ  n+40(FP), CX
	XORPD X9, X9
	XORPD X10, X10
	XORPD X11, X11
	XORPD X12, X12
	XORPD X13, X13
	XORPD X14, X14
	XORPD X15, X15

segment:
	SEGMENT
	BOTH((R8), X2)
	MULPD X0, X2                  // f*g
	MULPD X2, X4                  // a
	MULPD X2, X3                  // b

	// arm
	MOVUPD   nodeOffset_y(DI), X1
	MOVUPD   nodeOffset_y(SI), X5
	SUBPD    X5, X1               // dy, as in aicSegments
	MULPD    X2, X1
	ADDPD    X1, X15
	MOVUPD   nodeOffset_x(DI), X1
	MOVUPD   nodeOffset_x(SI), X5
	SUBPD    X5, X1               // dx, dz
	MOVAPD   X2, X5
	UNPCKLPD X5, X5
	UNPCKHPD X2, X2
	SUBPD    X2, X5               // odd
	MULPD    X5, X1
	ADDPD    X1, X14

	// d
	BOTH(nodeOffset_x(SI), X5)
	BOTH(nodeOffset_x(DI), X6)
	MOVAPD X5, X7
	MULPD  X4, X7
	MOVAPD X6, X1
	MULPD  X3, X1
	ADDPD  X1, X7                 // by x
	BOTH(nodeOffset_z(SI), X8)
	BOTH(nodeOffset_z(DI), X2)
	MULPD  X8, X4
	MULPD  X2, X3
	ADDPD  X3, X4                 // by z

	// y
	MOVAPD   X5, X1
	MULPD    X2, X1
	MOVAPD   X8, X3
	MULPD    X6, X3
	SUBPD    X3, X1               // -cy
	MOVAPD   X0, X3
	UNPCKHPD X3, X3
	SUBSD    X0, X3
	MULSD    X1, X3
	MOVSD    X3, vec_y(DX)        // (fm - f) * -cy
	MOVAPD   X7, X3
	UNPCKLPD X4, X3
	MULPD    X1, X3
	SUBPD    X3, X13              // by x and z, own side
	MOVAPD   X7, X3
	UNPCKHPD X4, X3
	MULPD    X1, X3
	ADDPD    X3, X13              // reflected side

	// x and z
	MOVUPD   nodeOffset_y(SI), X1
	MOVUPD   nodeOffset_y(DI), X3
	MULPD    X1, X2
	MULPD    X3, X8
	SUBPD    X8, X2               // cx
	MULPD    X3, X5
	MULPD    X1, X6
	SUBPD    X6, X5               // cz
	MOVAPD   X0, X1
	MULPD    X2, X0
	MULPD    X5, X1
	MOVAPD   X0, X3
	UNPCKLPD X1, X3
	UNPCKHPD X1, X0
	ADDPD    X0, X3
	MOVLPD   X3, vec_x(DX)
	MOVHPD   X3, vec_z(DX)
	MOVAPD   X7, X1
	MULPD    X2, X1
	ADDPD    X1, X9
	MULPD    X5, X7
	ADDPD    X7, X10
	MULPD    X4, X2
	ADDPD    X2, X11
	MULPD    X4, X5
	ADDPD    X5, X12

	ADDQ $nodeOffset__size, SI
	ADDQ $nodeOffset__size, DI
	ADDQ $vec__size, DX
	ADDQ $8, R8
	DECQ CX
	JNZ  segment

// ADDXZ adds the pair in `sum` to x and z of a vector of k.
#define ADDXZ(sum, to) \
	MOVLPD (to+vec_x)(AX), X0 \
	MOVHPD (to+vec_z)(AX), X0 \
	ADDPD  sum, X0            \
	MOVLPD X0, (to+vec_x)(AX) \
	MOVHPD X0, (to+vec_z)(AX)

	MOVAPD   X9, X0
	UNPCKLPD X10, X9
	UNPCKHPD X10, X0
	ADDPD    X0, X9
	ADDXZ(X9, gradientKernel_gx)
	MOVAPD   X11, X0
	UNPCKLPD X12, X11
	UNPCKHPD X12, X0
	ADDPD    X0, X11
	ADDXZ(X11, gradientKernel_gz)
	ADDXZ(X14, gradientKernel_arm)
	MOVAPD   X13, X0
	UNPCKHPD X0, X0
	ADDSD    (gradientKernel_gx+vec_y)(AX), X13
	MOVSD    X13, (gradientKernel_gx+vec_y)(AX)
	ADDSD    (gradientKernel_gz+vec_y)(AX), X0
	MOVSD    X0, (gradientKernel_gz+vec_y)(AX)
	MOVAPD   X15, X0
	UNPCKHPD X0, X0
	ADDSD    X0, X15
	ADDSD    (gradientKernel_arm+vec_y)(AX), X15
	MOVSD    X15, (gradientKernel_arm+vec_y)(AX)
	RET

// LEG finds the field of the leg from the node at SI:
//
//	X1 z    X2 y    X5 tz    X7 f    X8 fz    X4 ft    X0, X3, X6 free
#define LEG(ktx, ktz) \
	BOTH(nodeOffset_x(SI), X0)       \
	BOTH(nodeOffset_z(SI), X1)       \
	MOVUPD nodeOffset_y(SI), X2      \
	MOVUPD nodeOffset_inv(SI), X3    \
	MOVAPD X2, X4              \
	MULPD  X4, X4              \
	MOVAPD X1, X5              \
	MULPD  X5, X5              \
	ADDPD  X5, X4              \
	ADDPD  axisGuard<>(SB), X4 \
	MOVAPD one<>(SB), X6       \
	MOVAPD X6, X9              \
	MOVAPD X6, X7              \
	DIVPD  X4, X6              \ /* is2 */
	MOVAPD X0, X4              \
	MULPD  X3, X4              \ /* c */
	ADDPD  X4, X7              \
	MULPD  X6, X7              \ /* f */
	MOVAPD X3, X8              \
	MULPD  X8, X8              \
	MULPD  X4, X8              \
	ADDPD  X7, X8              \
	ADDPD  X7, X8              \
	MULPD  X1, X8              \
	MULPD  X6, X8              \
	XORPD  X5, X5              \
	SUBPD  X8, X5              \
	MOVAPD X5, X8              \ /* fz = -(c*inv*inv + 2*f)*z*is2 */
	BOTH(ktz, X5)              \
	SUBPD  X0, X5              \ /* tz */
	BOTH(ktx, X0)              \
	ADDPD  X1, X0              \ /* tx */
	MULPD  X4, X4              \
	SUBPD  X4, X9              \
	MOVAPD X9, X4              \
	MULPD  X0, X4              \
	MULPD  X3, X4              \
	MULPD  X6, X4              \
	MOVAPD X5, X0              \
	MULPD  X8, X0              \
	ADDPD  X0, X4                /* ft = tx*(1-c*c)*inv*is2 + tz*fz */

// func aicLegs(k *aicKernel, v *vec, from *nodeOffset, n int)
//
//	SI p    DX its v    CX n - j    X13, X14, X15 nx, ny negated in the reflection, nz
TEXT ·aicLegs(SB), NOSPLIT, $0-32
	MOVQ  k+0(FP), AX
	MOVQ  v+8(FP), DX
	MOVQ  from+16(FP), SI
	MOVQ  n+24(FP), CX
	BOTH(aicKernel_nx(AX), X13)
	BOTH(aicKernel_ny(AX), X14)
	BOTH(aicKernel_nz(AX), X15)
	XORPD negateReflected<>(SB), X14

leg:
	LEG(aicKernel_tx(AX), aicKernel_tz(AX))
	MOVAPD   X15, X6
	MULPD    X2, X6
	MULPD    X14, X1
	SUBPD    X1, X6               // cross
	MULPD    X6, X8
	MULPD    X6, X4
	MULPD    X7, X6               // f*cross
	MOVAPD   X14, X3
	MULPD    X7, X3               // ny*f
	SUBPD    X3, X8               // fz*cross - ny*f
	MULPD    X5, X3
	SUBPD    X3, X4
	MULPD    X13, X2
	MULPD    X7, X2
	ADDPD    X2, X4               // ft*cross - ny*tz*f + nx*y*f
	MOVAPD   X6, X0
	UNPCKLPD X8, X0
	UNPCKHPD X8, X6
	ADDPD    X6, X0
	MOVUPD   X0, vec_x(DX)        // and y
	MOVAPD   X4, X0
	UNPCKHPD X0, X0
	ADDSD    X4, X0
	MOVSD    X0, vec_z(DX)
	ADDQ     $nodeOffset__size, SI
	ADDQ     $vec__size, DX
	DECQ     CX
	JNZ      leg
	RET

// YZ joins the two sides of a vector's y, which the reflection negates, and z to a pair in y.
// What the Go subtracts from y comes with its sign changed.
#define YZ(y, z, free) \
	MOVAPD   y, free              \
	UNPCKLPD z, y                 \
	UNPCKHPD z, free              \
	XORPD    negateOwn<>(SB), y     \
	ADDPD    free, y

// func gradientLegs(k *gradientKernel, v *vec, gamma *float64, from *nodeOffset, n int)
//
//	SI p    DX its v    R8 its g    CX n - j    X10 leg's y and z
//	X11, X12 legZ.y, legZ.z    X13, X14 legT.y, legT.z, both sides apart
TEXT ·gradientLegs(SB), NOSPLIT, $0-40
	MOVQ  k+0(FP), AX
	MOVQ  v+8(FP), DX
	MOVQ  gamma+16(FP), R8
	MOVQ  from+24(FP), SI
	MOVQ  n+32(FP), CX
	XORPD X10, X10
	XORPD X11, X11
	XORPD X12, X12
	XORPD X13, X13
	XORPD X14, X14

leg:
	LEG(gradientKernel_tx(AX), gradientKernel_tz(AX))
	BOTH((R8), X0)
	MOVAPD X1, X3
	MULPD  X7, X3                 // z*f
	MOVAPD X2, X6
	MULPD  X7, X6                 // y*f
	YZ(X3, X6, X9)
	MOVQ   $0, vec_x(DX)
	MOVUPD X3, vec_y(DX)          // and z
	MULPD  X0, X3
	ADDPD  X3, X10
	MULPD  X7, X5                 // tz*f
	MULPD  X0, X2                 // g*y
	MOVAPD X1, X3
	MULPD  X8, X3
	ADDPD  X7, X3
	MULPD  X0, X3
	ADDPD  X3, X11                // g*(z*fz + f)
	MULPD  X2, X8
	ADDPD  X8, X12                // g*y*fz
	MULPD  X4, X1
	ADDPD  X5, X1
	MULPD  X0, X1
	ADDPD  X1, X13                // g*(z*ft + tz*f)
	MULPD  X2, X4
	ADDPD  X4, X14                // g*y*ft
	ADDQ   $nodeOffset__size, SI
	ADDQ   $vec__size, DX
	ADDQ   $8, R8
	DECQ   CX
	JNZ    leg

// ADDYZ adds the pair in `sum` to y and z of a vector of k.
#define ADDYZ(sum, to) \
	MOVUPD (to+vec_y)(AX), X0 \
	ADDPD  sum, X0            \
	MOVUPD X0, (to+vec_y)(AX)

	ADDYZ(X10, gradientKernel_leg)
	YZ(X11, X12, X0)
	ADDYZ(X11, gradientKernel_legZ)
	YZ(X13, X14, X0)
	ADDYZ(X13, gradientKernel_legT)
	RET

// What legPieces keeps on its stack: the offset from the piece's first corner, its length and the
// inverse of that; the sums of the velocity and of its derivatives, both sides apart; the offset
// from the node; the directions; the core's radius to the 4th; and a piece's slope by its core and h2.
#define PX 0(BX)
#define PY 16(BX)
#define PZ 32(BX)
#define A 48(BX)
#define IA 64(BX)
#define VX 80(BX)
#define VY 96(BX)
#define VZ 112(BX)
#define DVX 128(BX)
#define DVY 144(BX)
#define DVZ 160(BX)
#define EVX 176(BX)
#define EVY 192(BX)
#define EVZ 208(BX)
#define FROMX 224(BX)
#define FROMY 240(BX)
#define FROMZ 256(BX)
#define DX1 272(BX)
#define DZ1 288(BX)
#define EX1 304(BX)
#define EZ1 320(BX)
#define CORE 336(BX)
#define SLOPE 352(BX)
#define H2 368(BX)

PAIR(tiny, $1e-300, $1e-300)

// What the loops over a leg's pieces have in common, registers and stack alike.

// NEXTCORNER goes to the next corner: q in X1, X2, X3, b and 1/b in X4 and X5.
#define NEXTCORNER \
	ADDQ   $vec__size, SI \
	BOTH(vec_x(SI), X0) \
	MOVAPD FROMX, X1 \
	SUBPD  X0, X1 \ /* q.x */
	BOTH(vec_y(SI), X0) \
	MOVAPD FROMY, X2 \
	SUBPD  X0, X2 \ /* q.y */
	BOTH(vec_z(SI), X0) \
	MOVAPD FROMZ, X3 \
	SUBPD  X0, X3 \ /* q.z */
	MOVAPD X1, X4 \
	MULPD  X4, X4 \
	MOVAPD X2, X5 \
	MULPD  X5, X5 \
	ADDPD  X5, X4 \
	MOVAPD X3, X5 \
	MULPD  X5, X5 \
	ADDPD  X5, X4 \
	ADDPD  nodeGuard<>(SB), X4 \
	SQRTPD X4, X4 \ /* b */
	MOVAPD one<>(SB), X5 \
	DIVPD  X4, X5 /* ib */

// SIZES finds, of q as NEXTCORNER leaves it and p in X6, X7, X8, S in X10, 1/s in X15 and 1/S in
// X12, these two 0 on the axis, a and 1/a in X9 and X14; a and 1/a of the next piece go to the stack.
#define SIZES \
	MOVAPD A, X9 \
	MOVAPD IA, X14 \
	MOVAPD X4, A \
	MOVAPD X5, IA \
	MOVAPD X9, X10 \
	MULPD  X4, X10 \ /* ab */
	MOVAPD X6, X11 \
	MULPD  X1, X11 \
	MOVAPD X7, X12 \
	MULPD  X2, X12 \
	ADDPD  X12, X11 \
	MOVAPD X8, X12 \
	MULPD  X3, X12 \
	ADDPD  X12, X11 \
	ADDPD  X10, X11 \ /* s */
	MULPD  onAxis<>(SB), X10 \
	MOVAPD X11, X12 \
	CMPPD  X10, X12, $2 \ /* s <= onAxis*ab */
	MOVAPD X9, X10 \
	ADDPD  X4, X10 \ /* S */
	MOVAPD X11, X13 \
	MULPD  X10, X13 \
	MOVAPD one<>(SB), X0 \
	DIVPD  X13, X0 \
	MOVAPD X0, X13 \
	MULPD  X10, X13 \ /* 1/s */
	MULPD  X11, X0 \ /* 1/S */
	MOVAPD X12, X15 \
	ANDNPD X13, X15 \
	ANDNPD X0, X12

// CROSS finds c in X9, X10, X11.
#define CROSS \
	MOVAPD X7, X9 \
	MULPD  X3, X9 \
	MOVAPD X8, X0 \
	MULPD  X2, X0 \
	SUBPD  X0, X9 \
	MOVAPD X8, X10 \
	MULPD  X1, X10 \
	MOVAPD X6, X0 \
	MULPD  X3, X0 \
	SUBPD  X0, X10 \
	MOVAPD X6, X11 \
	MULPD  X2, X11 \
	MOVAPD X7, X0 \
	MULPD  X1, X0 \
	SUBPD  X0, X11

// CORED takes the core into F in X13; twice the slope of that by h2 over F, and over the piece's
// length squared, is in X4.
#define CORED \
	MOVAPD X1, X0 \
	SUBPD  X6, X0 \
	MULPD  X0, X0 \
	MOVAPD X2, X15 \
	SUBPD  X7, X15 \
	MULPD  X15, X15 \
	ADDPD  X15, X0 \
	MOVAPD X3, X15 \
	SUBPD  X8, X15 \
	MULPD  X15, X15 \
	ADDPD  X15, X0 \ /* the piece's length squared */
	MOVAPD X9, X4 \
	MULPD  X4, X4 \
	MOVAPD X10, X15 \
	MULPD  X15, X15 \
	ADDPD  X15, X4 \
	MOVAPD X11, X15 \
	MULPD  X15, X15 \
	ADDPD  X15, X4 \
	DIVPD  X0, X4 \ /* h2 */
	MOVAPD X4, H2 \
	MOVAPD X4, X15 \
	MULPD  X15, X15 \
	ADDPD  CORE, X15 \ /* root */
	MULPD  X15, X0 \
	MULPD  X4, X0 \
	MAXPD  tiny<>(SB), X0 \ /* on the axis, where F is 0 */
	SQRTPD X15, X15 \
	DIVPD  X15, X4 \
	MULPD  X4, X13 \ /* F */
	MOVAPD CORE, X4 \
	ADDPD  X4, X4 \
	DIVPD  X0, X4

// ADDTO adds a register to a sum on the stack, and leaves the sum in it.
#define ADDTO(sum, x) \
	ADDPD  sum, x \
	MOVAPD x, sum

// ALONG adds the change of a piece's velocity as the point moves along (dx, 0, dz):
//
//	X4, X5 the change of F with x and z    X6, X7, X8 p - q
//	X9, X10, X11 c                         X13 F         R8 whether there is a core
//
// and X0, X1, X2, X3, X12, X14 for what comes between.
#define ALONG(dx, dz, sumX, sumY, sumZ, noCore) \
	MOVAPD dz, X0    \
	MULPD  X7, X0    \ /* (d x l).x */
	MOVAPD dx, X12   \
	MULPD  X8, X12   \
	MOVAPD dz, X14   \
	MULPD  X6, X14   \
	SUBPD  X14, X12  \ /* .y */
	MOVAPD dx, X14   \
	MULPD  X7, X14   \ /* -.z */
	MOVAPD dx, X1    \
	MULPD  X4, X1    \
	MOVAPD dz, X2    \
	MULPD  X5, X2    \
	ADDPD  X2, X1    \ /* g */
	TESTQ  R8, R8    \
	JEQ    noCore    \
	MOVAPD X9, X2    \
	MULPD  X0, X2    \
	MOVAPD X10, X3   \
	MULPD  X12, X3   \
	ADDPD  X3, X2    \
	MOVAPD X11, X3   \
	MULPD  X14, X3   \
	SUBPD  X3, X2    \ /* c.(d x l) */
	MULPD  SLOPE, X2 \
	ADDPD  X2, X1    \
noCore:              \
	MULPD  X13, X0   \
	MOVAPD X1, X2    \
	MULPD  X9, X2    \
	ADDPD  X2, X0    \
	ADDTO(sumX, X0)  \
	MULPD  X13, X12  \
	MOVAPD X1, X2    \
	MULPD  X10, X2   \
	ADDPD  X2, X12   \
	ADDTO(sumY, X12) \
	MULPD  X13, X14  \
	MULPD  X11, X1   \
	SUBPD  X14, X1   \
	ADDTO(sumZ, X1)

// TOGETHER stores the sums of a vector of both sides: y changes its sign in the reflection.
#define TOGETHER(sumX, sumY, sumZ, at) \
	MOVAPD   sumX, X0 \
	MOVAPD   X0, X1   \
	UNPCKHPD X1, X1   \
	ADDSD    X1, X0   \
	MOVSD    X0, at+vec_x(DI) \
	MOVAPD   sumY, X0 \
	MOVAPD   X0, X1   \
	UNPCKHPD X1, X1   \
	SUBSD    X1, X0   \
	MOVSD    X0, at+vec_y(DI) \
	MOVAPD   sumZ, X0 \
	MOVAPD   X0, X1   \
	UNPCKHPD X1, X1   \
	ADDSD    X1, X0   \
	MOVSD    X0, at+vec_z(DI)

// func legPieces(out *pathVelocity, corner *vec, pieces int, from *nodeOffset, d, e *direction, core4 float64, directions int)
//
//	SI the next corner    DI out    CX pieces left    R8 whether there is a core    R9 directions
TEXT ·legPieces(SB), NOSPLIT, $400-64
	MOVQ out+0(FP), DI
	MOVQ corner+8(FP), SI
	MOVQ pieces+16(FP), CX
	MOVQ from+24(FP), DX
	MOVQ d+32(FP), AX
	MOVQ e+40(FP), R10
	MOVQ core4+48(FP), R8 // 0 as a number is 0 as bits
	MOVQ directions+56(FP), R9
	MOVQ SP, BX
	ADDQ $15, BX
	ANDQ $~15, BX

	XORPD  X0, X0
	MOVAPD X0, VX
	MOVAPD X0, VY
	MOVAPD X0, VZ
	MOVAPD X0, DVX
	MOVAPD X0, DVY
	MOVAPD X0, DVZ
	MOVAPD X0, EVX
	MOVAPD X0, EVY
	MOVAPD X0, EVZ
	BOTH(nodeOffset_x(DX), X0)
	MOVAPD X0, FROMX
	MOVAPD X0, PX
	MOVUPD nodeOffset_y(DX), X0
	MOVAPD X0, FROMY
	MOVAPD X0, PY
	BOTH(nodeOffset_z(DX), X0)
	MOVAPD X0, FROMZ
	MOVAPD X0, PZ
	MOVUPD nodeOffset_r(DX), X0
	MOVAPD X0, A
	MOVUPD nodeOffset_inv(DX), X0
	MOVAPD X0, IA
	BOTH(direction_x(AX), X0)
	MOVAPD X0, DX1
	BOTH(direction_z(AX), X0)
	MOVAPD X0, DZ1
	BOTH(direction_x(R10), X0)
	MOVAPD X0, EX1
	BOTH(direction_z(R10), X0)
	MOVAPD X0, EZ1
	BOTH(core4+48(FP), X0)
	MOVAPD X0, CORE

piece:
	NEXTCORNER
	MOVAPD PX, X6
	MOVAPD PY, X7
	MOVAPD PZ, X8
	SIZES
	MULPD  X10, X15               // S/s
	SUBPD  X15, X12               // k
	MOVAPD X15, X13
	MULPD  X14, X13
	MULPD  X5, X13                // F
	CROSS
	TESTQ  R8, R8
	JEQ    bare
	CORED
	MULPD  X13, X4
	MOVAPD X4, SLOPE

bare:
	MOVAPD X13, X0
	MULPD  X9, X0
	ADDTO(VX, X0)
	MOVAPD X13, X0
	MULPD  X10, X0
	ADDTO(VY, X0)
	MOVAPD X13, X0
	MULPD  X11, X0
	ADDTO(VZ, X0)
	CMPQ   R9, $0
	JEQ    next

	MOVAPD X12, X0
	SUBPD  X14, X0
	MULPD  X14, X0
	MULPD  X13, X0                // along p
	SUBPD  X5, X12
	MULPD  X5, X12
	MULPD  X13, X12               // along q
	MOVAPD X6, X4
	MULPD  X0, X4
	MOVAPD X1, X5
	MULPD  X12, X5
	ADDPD  X5, X4                 // by x
	MULPD  X8, X0
	MULPD  X3, X12
	MOVAPD X0, X5
	ADDPD  X12, X5                // by z
	SUBPD  X1, X6
	SUBPD  X2, X7
	SUBPD  X3, X8
	MOVAPD X1, PX
	MOVAPD X2, PY
	MOVAPD X3, PZ
	ALONG(DX1, DZ1, DVX, DVY, DVZ, alongD)
	CMPQ   R9, $1
	JEQ    last
	ALONG(EX1, EZ1, EVX, EVY, EVZ, alongE)
	JMP    last

next:
	MOVAPD X1, PX
	MOVAPD X2, PY
	MOVAPD X3, PZ

last:
	DECQ CX
	JNZ  piece
	TOGETHER(VX, VY, VZ, pathVelocity_v)
	TOGETHER(DVX, DVY, DVZ, pathVelocity_d)
	TOGETHER(EVX, EVY, EVZ, pathVelocity_e)
	RET

// What legMotionPieces keeps on its stack besides PX to IA and FROMX to FROMZ: the sums of the
// two ways, both sides apart; c; and a piece's 1/s, factors of its lengths and u.p.
#define HX 80(BX)
#define HY 96(BX)
#define HZ 112(BX)
#define RX 128(BX)
#define RY 144(BX)
#define RZ 160(BX)
#define CX1 176(BX)
#define CY1 192(BX)
#define CZ1 208(BX)
#define IS 272(BX)
#define BYA 288(BX)
#define BYB 304(BX)
#define UP 384(BX)

// PUT adds a component's product with `with` to a sum, TAKE takes it off; the component is in X4.
#define PUT(with, sum) \
	MOVAPD X4, X9 \
	MULPD  with, X9 \
	ADDPD  X9, sum
#define TAKE(with, sum) \
	MOVAPD X4, X9 \
	MULPD  with, X9 \
	SUBPD  X9, sum

// MOVED adds the change of a piece's velocity as its corners move by u at `way` and by v after it:
//
//	X1, X2, X3 q    X6, X7, X8 p    X13 F    R8 whether there is a core
//
// and X0, X12, X14 the change of c, X15 and X5 for u.q + v.p, u.p and v.q.
#define MOVED(way, sumX, sumY, sumZ, noCore) \
	XORPD X0, X0   \
	XORPD X5, X5   \
	XORPD X12, X12 \
	XORPD X14, X14 \
	XORPD X15, X15 \
	BOTH(vec_x(way), X4) \
	PUT(X3, X12)   \
	TAKE(X2, X14)  \
	PUT(X1, X15)   \
	PUT(X6, X5)    \
	BOTH(vec_y(way), X4) \
	TAKE(X3, X0)   \
	PUT(X1, X14)   \
	PUT(X2, X15)   \
	PUT(X7, X5)    \
	BOTH(vec_z(way), X4) \
	PUT(X2, X0)    \
	TAKE(X1, X12)  \
	PUT(X3, X15)   \
	PUT(X8, X5)    \
	MOVAPD X5, UP  \
	XORPD X5, X5   \
	BOTH(vec__size+vec_x(way), X4) \
	TAKE(X8, X12)  \
	PUT(X7, X14)   \
	PUT(X6, X15)   \
	PUT(X1, X5)    \
	BOTH(vec__size+vec_y(way), X4) \
	PUT(X8, X0)    \
	TAKE(X6, X14)  \
	PUT(X7, X15)   \
	PUT(X2, X5)    \
	BOTH(vec__size+vec_z(way), X4) \
	TAKE(X7, X0)   \
	PUT(X6, X12)   \
	PUT(X8, X15)   \
	PUT(X3, X5)    \
	MOVAPD X15, X4 \
	MULPD  IS, X4  \
	MOVAPD UP, X9  \
	MULPD  BYA, X9 \
	SUBPD  X9, X4  \
	MOVAPD X5, X9  \
	MULPD  BYB, X9 \
	SUBPD  X9, X4  \ /* g */
	TESTQ  R8, R8  \
	JEQ    noCore  \
	SUBPD  UP, X15 \
	SUBPD  X5, X15 \ /* the stretch */
	MULPD  H2, X15 \
	MOVAPD CX1, X9 \
	MULPD  X0, X9  \
	MOVAPD CY1, X10 \
	MULPD  X12, X10 \
	ADDPD  X10, X9 \
	MOVAPD CZ1, X10 \
	MULPD  X14, X10 \
	ADDPD  X10, X9 \
	SUBPD  X15, X9 \
	MULPD  SLOPE, X9 \
	ADDPD  X9, X4  \
noCore:            \
	MULPD  X13, X4 \
	MULPD  X13, X0 \
	MOVAPD CX1, X9 \
	MULPD  X4, X9  \
	ADDPD  X9, X0  \
	ADDTO(sumX, X0) \
	MULPD  X13, X12 \
	MOVAPD CY1, X9 \
	MULPD  X4, X9  \
	ADDPD  X9, X12 \
	ADDTO(sumY, X12) \
	MULPD  X13, X14 \
	MULPD  CZ1, X4 \
	ADDPD  X4, X14 \
	ADDTO(sumZ, X14)

// func legMotionPieces(out *[wakeMotions]vec, corner, byHeight, byPitch *vec, pieces int, from *nodeOffset, core4 float64)
//
//	SI the next corner    R10, R11 the first corners' ways    DI out    CX pieces left    R8 whether there is a core
TEXT ·legMotionPieces(SB), NOSPLIT, $416-56
	MOVQ out+0(FP), DI
	MOVQ corner+8(FP), SI
	MOVQ byHeight+16(FP), R10
	MOVQ byPitch+24(FP), R11
	MOVQ pieces+32(FP), CX
	MOVQ from+40(FP), DX
	MOVQ core4+48(FP), R8
	MOVQ SP, BX
	ADDQ $15, BX
	ANDQ $~15, BX

	XORPD  X0, X0
	MOVAPD X0, HX
	MOVAPD X0, HY
	MOVAPD X0, HZ
	MOVAPD X0, RX
	MOVAPD X0, RY
	MOVAPD X0, RZ
	BOTH(nodeOffset_x(DX), X6)
	MOVAPD X6, FROMX
	MOVUPD nodeOffset_y(DX), X7
	MOVAPD X7, FROMY
	BOTH(nodeOffset_z(DX), X8)
	MOVAPD X8, FROMZ
	MOVUPD nodeOffset_r(DX), X0
	MOVAPD X0, A
	MOVUPD nodeOffset_inv(DX), X0
	MOVAPD X0, IA
	BOTH(core4+48(FP), X0)
	MOVAPD X0, CORE

piece:
	NEXTCORNER
	SIZES
	MOVAPD X15, IS
	MULPD  X15, X4                // b/s
	MULPD  X15, X9                // a/s
	MOVAPD X12, X0
	SUBPD  X14, X0
	SUBPD  X4, X0
	MULPD  X14, X0
	MOVAPD X0, BYA
	SUBPD  X5, X12
	SUBPD  X9, X12
	MULPD  X5, X12
	MOVAPD X12, BYB
	MOVAPD X15, X13
	MULPD  X10, X13
	MULPD  X14, X13
	MULPD  X5, X13                // F
	CROSS
	MOVAPD X9, CX1
	MOVAPD X10, CY1
	MOVAPD X11, CZ1
	TESTQ  R8, R8
	JEQ    bare
	CORED
	MOVAPD X4, SLOPE

bare:
	MOVED(R10, HX, HY, HZ, height)
	MOVED(R11, RX, RY, RZ, pitch)
	ADDQ   $vec__size, R10
	ADDQ   $vec__size, R11
	MOVAPD X1, X6
	MOVAPD X2, X7
	MOVAPD X3, X8
	DECQ   CX
	JNZ    piece
	TOGETHER(HX, HY, HZ, 0)
	TOGETHER(RX, RY, RZ, vec__size)
	RET

PAIR(negateBoth, $0x8000000000000000, $0x8000000000000000)

#define STX 0(BX)
#define STZ 16(BX)
#define SUM 32(BX)

// STORE stores what both sides in X10 come to together, and STOREY a component across.
#define STORE(at) \
	MOVAPD   X10, X9 \
	UNPCKHPD X9, X9  \
	ADDSD    X9, X10 \
	MOVSD    X10, at(DX)
#define STOREY(at) \
	MOVAPD   X10, X9 \
	UNPCKHPD X9, X9  \
	SUBSD    X9, X10 \
	MOVSD    X10, at(DX)

// LESS is a's, b's and F's component by the factors in X15, X8 and X14.
#define LESS(a, b, f) \
	MOVAPD a, X10 \
	MULPD  X15, X10 \
	MOVAPD b, X9 \
	MULPD  X8, X9 \
	ADDPD  X9, X10 \
	MOVAPD f, X9 \
	MULPD  X14, X9 \
	ADDPD  X9, X10

// func sourceSegments(k *sourceKernel, v *sourceVelocity, from, to *nodeOffset, n int)
//
//	SI, DI p, q    X0, X2, X1 p/a    X6, X7 1/(a D), 1/(b D)
//	DX o           X3, X5, X4 q/b    X11, X12, X13 F           CX n - j
TEXT ·sourceSegments(SB), NOSPLIT, $64-40
	MOVQ k+0(FP), AX
	MOVQ v+8(FP), DX
	MOVQ from+16(FP), SI
	MOVQ to+24(FP), DI
	MOVQ n+32(FP), CX
	MOVQ SP, BX
	ADDQ $15, BX
	ANDQ $~15, BX
	BOTH(sourceKernel_tx(AX), X0)
	MOVAPD X0, STX
	BOTH(sourceKernel_tz(AX), X0)
	MOVAPD X0, STZ

source:
	BOTH(nodeOffset_x(SI), X0)
	BOTH(nodeOffset_z(SI), X1)
	MOVUPD nodeOffset_y(SI), X2
	BOTH(nodeOffset_x(DI), X3)
	BOTH(nodeOffset_z(DI), X4)
	MOVUPD nodeOffset_y(DI), X5
	MOVUPD nodeOffset_inv(SI), X6
	MOVUPD nodeOffset_inv(DI), X7
	MOVAPD X0, X8
	MULPD  X3, X8
	MOVAPD X1, X9
	MULPD  X4, X9
	ADDPD  X9, X8
	MOVAPD X2, X9
	MULPD  X5, X9
	ADDPD  X9, X8
	MOVUPD nodeOffset_r(SI), X9
	MOVUPD nodeOffset_r(DI), X10
	MOVAPD X9, X11
	MULPD  X10, X11
	ADDPD  X11, X8                // D
	ADDPD  X10, X9
	XORPD  negateBoth<>(SB), X9
	MOVAPD X9, SUM                // -S
	MOVAPD one<>(SB), X10
	DIVPD  X8, X10
	MULPD  X6, X0
	MULPD  X6, X1
	MULPD  X6, X2
	MULPD  X7, X3
	MULPD  X7, X4
	MULPD  X7, X5
	MOVAPD X0, X11
	ADDPD  X3, X11
	MULPD  X10, X11
	MOVAPD X2, X12
	ADDPD  X5, X12
	MULPD  X10, X12
	MOVAPD X1, X13
	ADDPD  X4, X13
	MULPD  X10, X13
	MULPD  X10, X6
	MULPD  X10, X7
	MOVAPD X11, X10
	STORE(sourceVelocity_v+vec_x)
	MOVAPD X12, X10
	STOREY(sourceVelocity_v+vec_y)
	MOVAPD X13, X10
	STORE(sourceVelocity_v+vec_z)

	// along z
	MOVAPD SUM, X14
	MULPD  X13, X14
	MOVAPD X1, X15
	MULPD  X6, X15
	XORPD  negateBoth<>(SB), X15
	MOVAPD X4, X8
	MULPD  X7, X8
	XORPD  negateBoth<>(SB), X8
	LESS(X0, X3, X11)
	STORE(sourceVelocity_vz+vec_x)
	LESS(X2, X5, X12)
	STOREY(sourceVelocity_vz+vec_y)
	LESS(X1, X4, X13)
	ADDPD X6, X10
	ADDPD X7, X10
	STORE(sourceVelocity_vz+vec_z)

	// along (tx, 0, tz)
	MOVAPD X11, X14
	MULPD  STX, X14
	MOVAPD X13, X9
	MULPD  STZ, X9
	ADDPD  X9, X14
	MULPD  SUM, X14
	MOVAPD X0, X15
	MULPD  STX, X15
	MOVAPD X1, X9
	MULPD  STZ, X9
	ADDPD  X9, X15
	MULPD  X6, X15
	XORPD  negateBoth<>(SB), X15
	MOVAPD X3, X8
	MULPD  STX, X8
	MOVAPD X4, X9
	MULPD  STZ, X9
	ADDPD  X9, X8
	MULPD  X7, X8
	XORPD  negateBoth<>(SB), X8
	ADDPD  X7, X6
	LESS(X0, X3, X11)
	MOVAPD X6, X9
	MULPD  STX, X9
	ADDPD  X9, X10
	STORE(sourceVelocity_vt+vec_x)
	LESS(X2, X5, X12)
	STOREY(sourceVelocity_vt+vec_y)
	LESS(X1, X4, X13)
	MULPD  STZ, X6
	ADDPD  X6, X10
	STORE(sourceVelocity_vt+vec_z)

	ADDQ $nodeOffset__size, SI
	ADDQ $nodeOffset__size, DI
	ADDQ $sourceVelocity__size, DX
	DECQ CX
	JNZ  source
	RET

// FACTOR finds (a + b)/(ab s) of the filament from the node at SI to that at DI, in X0, 0 on the
// filament; and p and q in X5, X7, X6 and X8, X10, X9 as x, y, z. X1 to X4 are free.
#define FACTOR \
	BOTH(nodeOffset_x(SI), X5)    \
	BOTH(nodeOffset_z(SI), X6)    \
	MOVUPD nodeOffset_y(SI), X7   \
	BOTH(nodeOffset_x(DI), X8)    \
	BOTH(nodeOffset_z(DI), X9)    \
	MOVUPD nodeOffset_y(DI), X10  \
	MOVUPD nodeOffset_r(SI), X2   \
	MOVUPD nodeOffset_r(DI), X3   \
	MOVAPD X2, X4                 \
	MULPD  X3, X4                 \ /* ab */
	ADDPD  X3, X2                 \ /* S */
	MOVAPD X5, X0                 \
	MULPD  X8, X0                 \
	MOVAPD X6, X1                 \
	MULPD  X9, X1                 \
	ADDPD  X1, X0                 \
	MOVAPD X7, X1                 \
	MULPD  X10, X1                \
	ADDPD  X1, X0                 \
	ADDPD  X4, X0                 \ /* s */
	MOVAPD X4, X1                 \
	MULPD  onAxis<>(SB), X1       \
	MULPD  X0, X4                 \
	DIVPD  X4, X2                 \
	CMPPD  X1, X0, $2             \ /* s <= onAxis*ab */
	ANDNPD X2, X0

// ACROSS finds c of p and q as FACTOR leaves them: x in X11, y in X12, z in X13; X1 is free.
#define ACROSS \
	MOVAPD X7, X11  \
	MULPD  X9, X11  \
	MOVAPD X6, X1   \
	MULPD  X10, X1  \
	SUBPD  X1, X11  \
	MOVAPD X6, X12  \
	MULPD  X8, X12  \
	MOVAPD X5, X1   \
	MULPD  X9, X1   \
	SUBPD  X1, X12  \
	MOVAPD X5, X13  \
	MULPD  X10, X13 \
	MOVAPD X7, X1   \
	MULPD  X8, X1   \
	SUBPD  X1, X13

// func velocitySegments(v *vec, from, to *nodeOffset, n int)
//
//	SI, DI p, q    DX o    CX n - j
TEXT ·velocitySegments(SB), NOSPLIT, $0-32
	MOVQ v+0(FP), DX
	MOVQ from+8(FP), SI
	MOVQ to+16(FP), DI
	MOVQ n+24(FP), CX

segment:
	FACTOR
	ACROSS
	MULPD X0, X11
	MULPD X0, X12
	MULPD X0, X13
	MOVAPD X11, X10
	STORE(vec_x)
	MOVAPD X12, X10
	STOREY(vec_y)
	MOVAPD X13, X10
	STORE(vec_z)
	ADDQ $nodeOffset__size, SI
	ADDQ $nodeOffset__size, DI
	ADDQ $vec__size, DX
	DECQ CX
	JNZ  segment
	RET

// func sumSegments(v *vec, gamma *float64, from, to *nodeOffset, n int, wing float64)
//
//	SI, DI p, q    X14, X15 the sums of x and z, both sides apart    R8 the next g
//	DX v           X2 that of y                                      R9 whether there is a core
TEXT ·sumSegments(SB), NOSPLIT, $32-48
	MOVQ v+0(FP), DX
	MOVQ gamma+8(FP), R8
	MOVQ from+16(FP), SI
	MOVQ to+24(FP), DI
	MOVQ n+32(FP), CX
	MOVQ wing+40(FP), R9 // 0 as a number is 0 as bits
	MOVQ SP, BX
	ADDQ $15, BX
	ANDQ $~15, BX
	XORPD X14, X14
	XORPD X15, X15
	XORPD X2, X2
	MOVAPD X2, 0(BX)

segment:
	FACTOR
	ACROSS
	BOTH((R8), X1)
	MULPD  X1, X0
	TESTQ  R9, R9
	JEQ    bare
	SUBPD  X5, X8
	SUBPD  X6, X9
	SUBPD  X7, X10
	MULPD  X8, X8
	MULPD  X9, X9
	MULPD  X10, X10
	ADDPD  X9, X8
	ADDPD  X10, X8
	ADDPD  nodeGuard<>(SB), X8    // the filament's length squared
	MOVAPD X11, X3
	MULPD  X3, X3
	MOVAPD X12, X4
	MULPD  X4, X4
	ADDPD  X4, X3
	MOVAPD X13, X4
	MULPD  X4, X4
	ADDPD  X4, X3
	DIVPD  X8, X3                 // h2
	MOVAPD X3, X4
	MULPD  X4, X4
	BOTH(wing+40(FP), X1)
	ADDPD  X1, X4
	SQRTPD X4, X4
	DIVPD  X4, X3
	MULPD  X3, X0

bare:
	MULPD X0, X11
	ADDPD X11, X14
	MULPD X0, X13
	ADDPD X13, X15
	MULPD X0, X12
	ADDTO(0(BX), X12)
	ADDQ $nodeOffset__size, SI
	ADDQ $nodeOffset__size, DI
	ADDQ $8, R8
	DECQ CX
	JNZ  segment

	MOVAPD   X14, X0
	UNPCKHPD X0, X0
	ADDSD    X14, X0
	ADDSD    vec_x(DX), X0
	MOVSD    X0, vec_x(DX)
	MOVAPD   X15, X0
	UNPCKHPD X0, X0
	ADDSD    X15, X0
	ADDSD    vec_z(DX), X0
	MOVSD    X0, vec_z(DX)
	MOVAPD   0(BX), X0
	MOVAPD   X0, X1
	UNPCKHPD X1, X1
	SUBSD    X1, X0
	ADDSD    vec_y(DX), X0
	MOVSD    X0, vec_y(DX)
	RET

// func weightedSources(to, fine *sourceVelocity, section *float64, strips, cells int, weight *float64, rows int)
//
//	DI to    R8 its section    CX strips left    X0 to X4 sums    X5 weight
//	SI the strip's first cell, R9 its weight     AX, BX, R12 the cell, its weight, cells left
//	R11 from one cell of a strip to the next     R10 the same of the weights
TEXT ·weightedSources(SB), NOSPLIT, $0-56
	MOVQ  to+0(FP), DI
	MOVQ  fine+8(FP), SI
	MOVQ  section+16(FP), R8
	MOVQ  strips+24(FP), CX
	MOVQ  cells+32(FP), DX
	MOVQ  weight+40(FP), R9
	MOVQ  rows+48(FP), R10
	SHLQ  $3, R10
	IMUL3Q $sourceVelocity__size, CX, R11

strip:
	MOVQ  SI, AX
	MOVQ  R9, BX
	MOVQ  DX, R12
	XORPD X0, X0
	XORPD X1, X1
	XORPD X2, X2
	XORPD X3, X3
	XORPD X4, X4

cell:
	BOTH((BX), X5)
	MOVUPD (AX), X6
	MOVUPD 16(AX), X7
	MOVUPD 32(AX), X8
	MOVUPD 48(AX), X9
	MOVSD  64(AX), X10
	MULPD  X5, X6
	MULPD  X5, X7
	MULPD  X5, X8
	MULPD  X5, X9
	MULSD  X5, X10
	ADDPD  X6, X0
	ADDPD  X7, X1
	ADDPD  X8, X2
	ADDPD  X9, X3
	ADDSD  X10, X4
	ADDQ   R11, AX
	ADDQ   R10, BX
	DECQ   R12
	JNZ    cell

	BOTH((R8), X5)
	MULPD  X5, X0
	MULPD  X5, X1
	MULPD  X5, X2
	MULPD  X5, X3
	MULSD  X5, X4
	MOVUPD X0, (DI)
	MOVUPD X1, 16(DI)
	MOVUPD X2, 32(DI)
	MOVUPD X3, 48(DI)
	MOVSD  X4, 64(DI)
	ADDQ   $sourceVelocity__size, SI
	ADDQ   $sourceVelocity__size, DI
	ADDQ   $8, R8
	DECQ   CX
	JNZ    strip
	RET
